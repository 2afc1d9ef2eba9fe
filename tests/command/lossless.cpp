// What nothing is done to comes out of the whole rewrite byte for byte, however it is laid out.
#include "tests/command/run_program.hpp"
#include "tests/draw.hpp"
#include "tests/property/random_language.hpp"
#include "tests/property/random_program.hpp"
#include "tests/property/random_structure.hpp"

#include <catch2/catch.hpp>

#include <filesystem>
#include <sstream>

using namespace restep;
using namespace restep::command;
using property::draw;

namespace {

using Lines = std::vector<std::string>;

bool one_in(int count) {
  return draw(0, count) == count - 1;
}

/// Bytes that no program means anything by, but for the ones that end a remark or a line.
std::string any_bytes(std::string_view without) {
  std::string bytes;
  for (int more = draw(0, 12); more > 0; --more) {
    char const byte = static_cast<char>(draw(0, 256));
    if (without.find(byte) == without.npos) bytes += byte;
  }
  return bytes;
}

std::string remark() {
  switch (draw(0, 7)) {
  case 0: return "(clock bezel \xC3\xA9)";
  case 1: return "(" + any_bytes("\r\n()") + ")";
  case 2: return ";" + any_bytes("\r\n");
  case 3: return "; (to the shoulder)";
  case 4: return "()";
  case 5: return "(msg, change the jaws)";
  default: return std::string("(yoke \0 \xFF % ; /)", 15) + ")";
  }
}

/// A line that does nothing.
std::string idle_line() {
  switch (draw(0, 5)) {
  case 0: return "";
  case 1: return " \t ";
  case 2: return fmt::format("N{}", draw(1, 999));
  default: return remark();
  }
}

bool is_label_or_mark(std::string const& line) {
  return line.empty() || std::string_view("%oONn/").find(line[0]) != std::string_view::npos;
}

/// One line as people write it: number, blanks, small letters, remarks.
std::string handwritten(std::string line) {
  if (line.empty() || line[0] == '%') return line;
  if (one_in(4))
    for (char& c : line)
      c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  if (one_in(6) && !is_label_or_mark(line))
    line = fmt::format("N{}{}{}", draw(1, 999), one_in(2) ? " " : "", line);
  if (one_in(8)) line = "\t " + line;
  if (one_in(8)) line += " \t";
  if (one_in(5) && line.find(';') == line.npos) line += (one_in(2) ? " " : "") + remark();
  return line;
}

std::string line_end(int kind) {
  return kind == 0   ? "\n"
         : kind == 1 ? "\r\n"
         : kind == 2 ? "\r"
                     : *rc::gen::element<std::string>("\n", "\r\n", "\r");
}

/// A whole file: marks, blank lines and remarks between the lines, line ends of every kind, leavings behind
/// the end.
std::string laid_out(Lines const& lines) {
  int const ends = draw(0, 4);
  std::string file = one_in(3) ? "\xEF\xBB\xBF" : "";
  for (auto const& line : lines) {
    while (one_in(8))
      file += idle_line() + line_end(ends);
    file += handwritten(line) + line_end(ends);
  }
  for (int more = draw(0, 4); more > 0; --more)
    file += (one_in(2) ? "left over from last year" : any_bytes("\r\n")) + line_end(ends);
  if (one_in(3)) file.erase(file.find_last_not_of("\r\n") + 1);
  return file;
}

Lines lines_of(std::string const& program) {
  Lines lines;
  std::istringstream stream(program);
  for (std::string line; std::getline(stream, line);)
    lines.push_back(line);
  return lines;
}

void check_same(std::string const& program) {
  Folder const folder;
  Run const run = run_program(
      {"rewrite", folder.write("part.nc", program), "--skip", "all", "-o", folder.path("out.nc")});
  if (run.status != 0) RC_FAIL(program + "\n--- was refused ---\n" + run.err);
  if (content_of(folder.path("out.nc")) != program)
    RC_FAIL(program + "\n--- became ---\n" + content_of(folder.path("out.nc")) + run.err);
}

} // namespace

TEST_CASE("every fixture comes out byte for byte when every stage is skipped", "[lossless]") {
  std::size_t programs = 0;
  for (auto const& entry : std::filesystem::recursive_directory_iterator(source_file("fixtures"))) {
    if (entry.path().extension() != ".nc" ||
        entry.path().parent_path().filename().string().starts_with("bad-"))
      continue;
    Folder const folder;
    INFO(entry.path());
    Run const run =
        run_program({"rewrite", entry.path().string(), "--skip", "all", "-o", folder.path("out.nc")});
    INFO(run.err);
    REQUIRE(run.status == 0);
    bool const same = content_of(folder.path("out.nc")) == content_of(entry.path());
    CHECK(same);
    ++programs;
  }
  CHECK(programs > 20);
}

TEST_CASE("plain programs come out byte for byte, however they are laid out", "[lossless]") {
  CHECK(property::holds_often(300, [] {
    auto lines = property::any_program();
    if (one_in(2)) lines.insert(lines.begin(), {"%", "O1000 (striker cam)"});
    lines.emplace_back(*rc::gen::element<std::string>("M30", "M2", "G0 Z99. M30"));
    if (lines[0] == "%") lines.emplace_back("%");
    check_same(laid_out(lines));
  }));
}

TEST_CASE("programs with calls, loops and jumps come out byte for byte, however they are laid out",
          "[lossless]") {
  CHECK(property::holds_often(400, [] {
    std::string program;
    for (auto const& lines : property::StructuredProgrammer().program())
      program += lines + "\n";
    check_same(laid_out(lines_of(program)));
  }));
}

TEST_CASE("programs with parameters, cycles and offsets come out byte for byte, however they are laid out",
          "[lossless]") {
  CHECK(property::holds_often(400, [] {
    property::ReferenceControl shop;
    shop.keeps_level = true;
    shop.homes_all = false;
    check_same(laid_out(lines_of(property::LanguageProgrammer(shop, true).program(draw(1, 40)))));
  }));
}
