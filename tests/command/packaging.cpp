#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

#include <regex>
#include <set>

using namespace restep::command;

namespace {

/// The long options that a help text lists.
std::set<std::string> options_of(std::string const& command) {
  std::set<std::string> options;
  std::string const help = run_program({command, "--help"}).out;
  std::regex const option("\n  (?:-\\w,)?(--[a-z-]+)");
  for (std::sregex_iterator it(help.begin(), help.end(), option), end; it != end; ++it)
    options.insert((*it)[1]);
  return options;
}

bool has_word(std::string const& text, std::string const& word) {
  return std::regex_search(text, std::regex("(^|[^a-z-])" + word + "([^a-z-]|$)"));
}

} // namespace

TEST_CASE("manual page and completions know every option of every command", "[packaging]") {
  std::string manual =
      std::regex_replace(content_of(source_file("src/packaging/restep.1")), std::regex("\\\\-"), "-");
  manual = std::regex_replace(manual, std::regex("\\\\f[BIR]"), " ");
  std::string const bash = content_of(source_file("src/packaging/restep.bash"));
  std::string const zsh = content_of(source_file("src/packaging/restep.zsh"));
  std::string const fish = content_of(source_file("src/packaging/restep.fish"));
  for (char const* command : {"rewrite", "inspect", "compare", "steps"}) {
    auto const options = options_of(command);
    REQUIRE(options.size() > 4);
    // bash lists the options per command in one line
    std::smatch line;
    REQUIRE(std::regex_search(bash, line, std::regex(std::string(command) + "\\) options=\"([^\"]*)\"")));
    for (std::string const& option : options) {
      INFO(command << " " << option);
      CHECK(has_word(manual, option));
      CHECK(has_word(line[1], option));
      CHECK(has_word(zsh, option));
      CHECK(has_word(fish, "-l " + option.substr(2)));
    }
  }
}
