#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;
using test::strict;

namespace {

std::vector<motion::LayoutKind> kinds(test::Reading const& reading) {
  std::vector<motion::LayoutKind> list;
  for (auto const& layout : reading.all<motion::Layout>())
    list.push_back(layout.kind);
  return list;
}
std::vector<std::string> codes_of(test::Reading const& reading) {
  std::vector<std::string> list;
  for (auto const& finding : reading.findings.all())
    list.push_back(std::string(text::name_of(finding.severity)) + " " + finding.code);
  return list;
}
using enum motion::LayoutKind;
using Kinds = std::vector<motion::LayoutKind>;
using Codes = std::vector<std::string>;

} // namespace

TEST_CASE("A percent line before the first block opens a program, the next one closes it") {
  auto const reading = read("(clock bezel)\n%\nG21\n%\nG0 X1\n");
  CHECK(kinds(reading) == Kinds{percent, modes, percent, after_end});
  CHECK(reading.motions().empty());
  CHECK(codes_of(reading) == Codes{"note text-after-end", "warning no-program-end"});
}

TEST_CASE("A percent line alone at the end closes a program that did not open with one") {
  auto const reading = read("G21\nM30\n%\n");
  CHECK(kinds(reading) == Kinds{modes, percent});
  CHECK(reading.findings.all().empty());
}

TEST_CASE("Text after the end is kept, never executed, and noted once") {
  auto const reading = read("G0 X1\nM2\n\nG0 X9\nnonsense ((\n%\n%\n");
  CHECK(reading.position.x == 1);
  CHECK(kinds(reading) == Kinds{after_end, after_end, after_end, percent, after_end});
  CHECK(codes_of(reading) == Codes{"note text-after-end"});
}

TEST_CASE("A program without an end is read with a warning") {
  auto const reading = read("G0 X1\n");
  CHECK(codes_of(reading) == Codes{"warning no-program-end"});
  CHECK(reading.findings.all()[0].line == 1);
}

TEST_CASE("An empty program has no end either") {
  auto const reading = read("");
  CHECK(reading.steps.empty());
  CHECK(codes_of(reading) == Codes{"warning no-program-end"});
}

TEST_CASE("Strict layout, NISTIR 6556, 3.1: a percent pair or an end is required") {
  CHECK(codes_of(read("G21\n", strict())) == Codes{"error no-program-end"});
  CHECK(codes_of(read("%\nG21\nM2\n", strict())) == Codes{"error percent-not-closed"});
  CHECK(codes_of(read("G21\n%\nM2\n", strict())) == Codes{"error stray-percent", "note text-after-end"});
  CHECK(read("%\nG21\n%\n", strict()).findings.all().empty());
  CHECK(read("G21\nM2\n", strict()).findings.all().empty());
}

TEST_CASE("Strict layout, 3.3: a line has at most 256 characters") {
  std::string const fits = "(" + std::string(254, '.') + ")";
  CHECK(read(fits + "\nM2\n", strict()).findings.all().empty());
  CHECK(codes_of(read(fits + " \nM2\n", strict())) == Codes{"error line-too-long"});
  CHECK(read(fits + fits + "\nM2\n").findings.all().empty());
}

TEST_CASE("Strict layout, 3.3.1: N has at most five digits") {
  CHECK(codes_of(read("N000009 G0 X1\nM2\n", strict())) == Codes{"error line-number-too-long"});
  CHECK(read("N99999 G0 X1\nM2\n", strict()).findings.all().empty());
  CHECK(read("N1234567 G0 X1\nM2\n").findings.all().empty());
}

TEST_CASE("Strict layout: no semicolons") {
  CHECK(codes_of(read("G0 X1 ; rapid\nM2\n", strict())) == Codes{"error semicolon-comment"});
  CHECK(read("G0 X1 ; rapid\nM2\n").findings.all().empty());
}

TEST_CASE("Strict layout: no comments within comments") {
  CHECK(codes_of(read("G0 X1 (a (nested)\nM2\n", strict())) == Codes{"error nested-comment"});
  CHECK(read("G0 X1 (a (nested)\nM2\n").findings.all().empty());
}

TEST_CASE("A deleted block is checked for its grammar but not executed") {
  interpret::ReadRules rules;
  rules.block_delete = true;
  CHECK(read("/G1 G0 X1\nM2\n", rules).errors().empty());
  CHECK(read("/G0 X\nM2\n", rules).errors().size() == 1);
  CHECK(kinds(read("/M30\nM2\n", rules)) == Kinds{deleted});
}

TEST_CASE("Parameters are set when their block is executed") {
  auto const reading = read("#3=15\n#3=6 G0 X#3\nY#3\n/#3=9\nZ#3\nM2\n");
  CHECK(reading.errors().empty());
  CHECK(reading.position == motion::Vec3{15, 6, 9});
  interpret::ReadRules rules;
  rules.block_delete = true;
  CHECK(read("#3=6\n/#3=9\nG0 Z#3\nM2\n", rules).motions()[0].to.z == 6);
}

TEST_CASE("A parameter that holds an origin of the control cannot be set") {
  CHECK(read("#5221=10\nM2\n").error_codes() == std::vector<std::string>{"origin-by-parameter"});
}

TEST_CASE("All errors of a program are found in one reading, and only the causes") {
  auto const reading = read("G1 X1O F100\n"
                            "Y5\n"
                            "G2 X10 I5\n"
                            "G1 X5 Y5 F100\n"
                            "G3 X5 Y15 J6\n"
                            "G0 G1 X3\n"
                            "X7 H2\n"
                            "M30\n");
  std::vector<std::uint32_t> lines;
  for (auto const& finding : reading.findings.all())
    lines.push_back(finding.line);
  CHECK(lines == std::vector<std::uint32_t>{1, 5, 6, 7});
}
