// Every message of the reader has its whole text in a test: the string literals of grammar/, src/interpret
// and src/text are looked up among those of the tests. A new finding without a test of its text fails here.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

namespace {

namespace fs = std::filesystem;

struct Literal {
  std::string text;
  int line = 0;
};

/// The string literals of a C++ source as written between the quotes; neighbours that the compiler joins are
/// joined. Comments, character literals and preprocessor lines hold none.
std::vector<Literal> literals_of(std::string_view source) {
  std::vector<Literal> found;
  bool joins = false; // nothing but blanks since the last literal
  bool line_start = true;
  int line = 1;
  for (std::size_t at = 0; at < source.size(); ++at) {
    char const c = source[at];
    if (c == '\n') ++line;
    if (std::isspace(static_cast<unsigned char>(c)) != 0) {
      line_start = line_start || c == '\n';
      continue;
    }
    auto const end_of_line = [&] { return std::min(source.find('\n', at), source.size()); };
    if (source.substr(at, 2) == "//" || (c == '#' && line_start)) {
      at = end_of_line() - 1;
      continue;
    }
    line_start = false;
    if (source.substr(at, 3) == "R\"(") {
      std::size_t const end = source.find(")\"", at);
      found.push_back({std::string(source.substr(at + 3, end - at - 3)), line});
      line += static_cast<int>(std::count(source.begin() + static_cast<std::ptrdiff_t>(at),
                                          source.begin() + static_cast<std::ptrdiff_t>(end), '\n'));
      at = end + 1;
      joins = true;
    } else if (c == '"') {
      std::size_t end = at + 1;
      while (end < source.size() && source[end] != '"')
        end += source[end] == '\\' ? 2 : 1;
      if (!joins) found.push_back({"", line});
      found.back().text += source.substr(at + 1, end - at - 1);
      at = end;
      joins = true;
    } else {
      bool const digit_separator = at > 0 && std::isalnum(static_cast<unsigned char>(source[at - 1])) != 0;
      if (c == '\'' && !digit_separator) {
        ++at;
        while (at < source.size() && source[at] != '\'')
          at += source[at] == '\\' ? 2 : 1;
      }
      joins = false;
    }
  }
  return found;
}

std::string content_of(fs::path const& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

bool is_source(fs::path const& path) {
  return path.extension() == ".cpp" || path.extension() == ".hpp";
}

std::vector<fs::path> sources_in(std::string const& folder) {
  std::vector<fs::path> found;
  for (auto const& entry : fs::recursive_directory_iterator(fs::path(RESTEP_SOURCE_DIR) / folder))
    if (entry.is_regular_file() && is_source(entry.path())) found.push_back(entry.path());
  std::sort(found.begin(), found.end());
  return found;
}

/// A finding's code (kebab-case), or words for people: at least two of them.
bool is_told(std::string const& text) {
  bool const is_code = text.find('-') != std::string::npos && std::islower(text.front()) != 0 &&
                       std::islower(text.back()) != 0 && std::all_of(text.begin(), text.end(), [](char c) {
                         return c == '-' || std::isalnum(static_cast<unsigned char>(c)) != 0;
                       });
  return is_code || (text.size() > 6 && text.find(' ') != std::string::npos);
}

/// The parts of a text between its places to fill in.
std::vector<std::string> fixed_parts(std::string const& text) {
  std::vector<std::string> parts{""};
  for (std::size_t at = 0; at < text.size(); ++at) {
    std::size_t const end = text[at] == '{' ? text.find('}', at) : std::string::npos;
    if (end == std::string::npos) {
      parts.back() += text[at];
    } else {
      parts.emplace_back();
      at = end;
    }
  }
  return parts;
}

/// Whether a test's literal holds the whole of it, with whatever it likes in the places to fill in.
bool holds(std::string const& tested, std::vector<std::string> const& parts) {
  std::size_t at = 0;
  for (std::string const& part : parts) {
    at = tested.find(part, at);
    if (at == std::string::npos) return false;
    at += part.size();
  }
  return true;
}

// What the grammar calls what it expects: `diagnose` turns it into a message, or it is filled into one.
constexpr std::array names_of_rules{
    "the end of the '%' line", "an operand", "a parameter number", "a name and '>'", "a setting", "DO or END",
    "0123456789.+-*/# \\t",
};

// Only a machine that fails (memory, medium) or an error of ours brings these about.
constexpr std::array of_failing_machines{
    "cannot read",
    "cannot keep a copy in a temporary file",
    "cannot keep the access rights",
    "cannot read back the temporary file",
    "not enough memory to read on",
    "not enough memory to keep the text that is read back",
    "the file is too large",
    "an operator that is not known",
    "a function that is not known",
    "no code of this block takes it",
};

template <std::size_t N>
bool is_one_of(std::array<char const*, N> const& list, std::string const& text) {
  return std::find(list.begin(), list.end(), text) != list.end();
}

} // namespace

TEST_CASE("literals are found and joined as a compiler would", "[text]") {
  std::vector<std::string> found;
  for (auto const& literal :
       literals_of("#include \"a\"\n// \"b\"\nf(\"one \" // \"c\"\n  \"two\", '\"', \"3\\\"\", 1'000, "
                   "\"4\")"))
    found.push_back(literal.text);
  CHECK(found == std::vector<std::string>{"one two", "3\\\"", "4"});
}

TEST_CASE("every message of the reader has its whole text in a test", "[text]") {
  std::vector<std::string> tested;
  for (auto const& path : sources_in("tests")) {
    if (path.filename() == "message_coverage_test.cpp") continue;
    for (auto& literal : literals_of(content_of(path)))
      tested.push_back(std::move(literal.text));
  }
  std::size_t told = 0;
  for (char const* folder : {"grammar", "src/interpret", "src/text"}) {
    for (auto const& path : sources_in(folder)) {
      for (auto const& [text, line] : literals_of(content_of(path))) {
        if (!is_told(text) || is_one_of(names_of_rules, text) || is_one_of(of_failing_machines, text))
          continue;
        ++told;
        auto const parts = fixed_parts(text);
        if (std::none_of(tested.begin(), tested.end(), [&](auto const& test) { return holds(test, parts); }))
          FAIL_CHECK(fmt::format("{}:{}: no test has this text: {}", path.string(), line, text));
      }
    }
  }
  CHECK(told > 500);
}
