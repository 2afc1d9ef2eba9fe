// A program that nothing is done to comes out byte for byte.
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "random_program.hpp"

#include <catch2/catch.hpp>

#include <filesystem>
#include <fstream>
#include <sstream>

using namespace restep;
using namespace restep::property;

namespace {

dialect::Dialect const& the_standard() {
  static auto const loaded = dialect::load_dialect(RESTEP_SOURCE_DIR "/profiles/dialects/rs274ngc.toml");
  return loaded.value();
}

/// The program read and written under the same dialect, no stage between.
std::string rewritten(std::string_view program) {
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  std::string output;
  interpret::ProgramReader reader(input, the_standard().read, findings);
  dialect::BlockWriter writer(the_standard(), input, [&](std::string_view bytes) { output += bytes; },
                              findings, {.verbatim = true});
  motion::Step step;
  while (reader.next(step))
    writer.write(step);
  writer.finish();
  return output;
}

std::string contents(std::filesystem::path const& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// What real programs have around their blocks.
std::string decorated(std::string line, int number) {
  switch (draw(0, 10)) {
  case 0: return fmt::format("N{} {}", number, line);
  case 1: return fmt::format("N{}{}", number, line);
  case 2: return line + " (clock bezel \xC3\xA9\x80)";
  case 3: return line + " ; to the shoulder";
  case 4: return "\t" + line + "  ";
  case 5: return line.empty() ? line : "(a)" + line;
  case 6:
    for (char& c : line)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return line;
  default: return line;
  }
}

} // namespace

TEST_CASE("Every fixture comes out byte for byte when nothing is done to it") {
  std::size_t programs = 0;
  for (auto const& entry : std::filesystem::recursive_directory_iterator(RESTEP_SOURCE_DIR "/fixtures")) {
    if (entry.path().extension() != ".nc" ||
        entry.path().parent_path().filename().string().starts_with("bad-"))
      continue;
    INFO(entry.path());
    auto const program = contents(entry.path());
    bool const same = rewritten(program) == program;
    CHECK(same);
    ++programs;
  }
  CHECK(programs > 20);
}

TEST_CASE("Random programs come out byte for byte, whatever their line ends, marks and remarks") {
  REQUIRE(holds_often(1000, [] {
    auto const lines = any_program();
    int const ends = draw(0, 4);
    std::string program =
        *rc::gen::element<std::string>("", "\xEF\xBB\xBF", "%\n", "%\nO1000 (striker cam)\n");
    int number = 0;
    for (auto const& line : lines) {
      program += decorated(line, number += 10);
      program += ends == 0   ? "\n"
                 : ends == 1 ? "\r\n"
                 : ends == 2 ? "\r"
                             : *rc::gen::element<std::string>("\n", "\r\n", "\r");
    }
    program +=
        *rc::gen::element<std::string>("M30\n", "M30", "M2\r\n%\r\n", "M30\nleft over from last year\n%\n");
    if (rewritten(program) != program) RC_FAIL(program + "\n--- became ---\n" + rewritten(program));
  }));
}
