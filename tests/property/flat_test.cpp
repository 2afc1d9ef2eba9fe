// A program with calls, loops and turned coordinates comes out flat, and makes the same moves.
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>

using namespace restep;

namespace {

dialect::Dialect const& standard_dialect() {
  static auto const loaded = dialect::load_dialect(RESTEP_SOURCE_DIR "/profiles/dialects/rs274ngc.toml");
  return loaded.value();
}

struct Moves {
  std::vector<motion::Motion> motions;
  std::string written;
  std::string errors;
};

Moves read_and_write(std::string_view program) {
  Moves moves;
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  interpret::ProgramReader reader(input, standard_dialect().read, findings);
  dialect::BlockWriter writer(standard_dialect(), input,
                              [&](std::string_view bytes) { moves.written += bytes; }, findings,
                              {.verbatim = true});
  motion::Step step;
  while (reader.next(step)) {
    if (auto const* move = motion::motion_of(step)) moves.motions.push_back(*move);
    writer.write(step);
  }
  writer.finish();
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) moves.errors += text::format(finding, "program");
  return moves;
}

bool near(motion::Vec3 const& a, motion::Vec3 const& b) {
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(a[axis]) && !(std::abs(a[axis] - b[axis]) < 0.002)) return false;
  return true;
}

/// A move to where the tool stands may be left out.
std::vector<motion::Motion> moving(std::vector<motion::Motion> motions) {
  std::erase_if(motions, [](auto const& move) { return !motion::is_arc(move) && move.from == move.to; });
  return motions;
}

void check_flat(std::string const& program) {
  INFO(program);
  auto const source = read_and_write(program);
  INFO(source.written);
  REQUIRE(source.errors.empty());
  auto const output = read_and_write(source.written);
  REQUIRE(output.errors.empty());
  CHECK(output.written == source.written);
  auto const meant = moving(source.motions);
  auto const found = moving(output.motions);
  REQUIRE(found.size() == meant.size());
  for (std::size_t i = 0; i < meant.size(); ++i) {
    CHECK(found[i].path == meant[i].path);
    CHECK(found[i].feed == Approx(meant[i].feed));
    CHECK(near(meant[i].to, found[i].to));
    if (motion::is_arc(meant[i])) CHECK(near(meant[i].centre, found[i].centre));
  }
}

constexpr char const* head = "%\nO1 (bell yoke)\nG21 G90 G17 G94 G54\nT1 M6\nS900 M3\nG0 X0 Y0 Z10\nF200\n";

} // namespace

TEST_CASE("A contour that a subprogram cuts level by level comes out flat") {
  check_flat(std::string(head) + "G1 Z0\nM98 P100 L3\nG0 Z10\nX5 Y5\nM30\n"
                                 "O100\nG91 G1 Z-0.5\nG90 X10 Y0\nG3 X0 Y10 I-10 J0\nG1 X0 Y0\nM99\n%\n");
}

TEST_CASE("A loop with parameters comes out flat") {
  check_flat(std::string(head) +
             "#1=0\n#2=10\nWHILE [#1 GT -2] DO 1\nG1 Z#1 F[100+#2]\nX#2\nX0\n#1=[#1-0.5]\n"
             "END 1\nG0 Z10\nG1 X#2 F50\nM30\n%\n");
}

TEST_CASE("A jump over blocks comes out without them") {
  check_flat(std::string(head) + "GOTO 20\nG1 X99\nN20 G1 X5\nX6\nM30\n%\n");
}

TEST_CASE("Labelled subprograms and macros come out flat") {
  check_flat(std::string(head) + "o<cam> sub\nG1 X#1 Y#2\no<cam> endsub\no<cam> call [3] [4]\nG0 Z20\n"
                                 "G65 P300 A1.5 X7.\nG0 Z21\nM30\nO300\nG1 X#24 Y[#1*2] F50\nM99\n%\n");
}

TEST_CASE("Turned, scaled, mirrored and polar coordinates come out plain") {
  check_flat(std::string(head) + "G68 X0 Y0 R30\nG1 X10 Y0\nG3 X0 Y10 I-10\nG69\nG0 X1 Y1\n"
                                 "G51 X0 Y0 Z0 P0.5\nG1 X4 Y4 Z2\nG2 X8 Y0 R4\nG50\nG0 X1 Y1 Z5\n"
                                 "G51.1 X0\nG1 X3 Y3\nG3 X4 Y4 I0 J1\nG50.1\nG0 X0 Y0\n"
                                 "G16\nG1 X10 Y30\nY60\nG15\nG0 X0 Y0\nM30\n%\n");
}

TEST_CASE("A pattern of a subprogram in turned coordinates comes out plain") {
  check_flat(std::string(head) +
             "#1=0\nWHILE [#1 LT 360] DO 1\nG68 X0 Y0 R#1\nM98 P100\nG69\n#1=[#1+45]\n"
             "END 1\nG0 X0 Y0\nM30\nO100\nG0 X20 Y0\nG1 Z-1\nG2 X22 Y0 R1\nG0 Z5\nM99\n%\n");
}

TEST_CASE("Random subprograms called at random come out flat") {
  CHECK(property::holds_often(400, [] {
    std::string program = head;
    int const calls = property::draw(1, 8);
    for (int i = 0; i < calls; ++i) {
      program += fmt::format("M98 P{} L{}\n", property::draw(11, 14), property::draw(1, 4));
      if (*rc::gen::arbitrary<bool>()) program += fmt::format("G90 G1 X{} Y1\n", i);
    }
    program += "M30\n";
    for (int sub = 11; sub < 14; ++sub) {
      program += fmt::format("O{}\n{}\n", sub, *rc::gen::element<std::string>("G91", "G90"));
      int const blocks = property::draw(1, 6);
      for (int i = 0; i < blocks; ++i)
        program += fmt::format("{} X{} Z{}\n", *rc::gen::element<std::string>("G0", "G1"),
                               property::draw(-9, 9), property::draw(-9, 9));
      program += "M99\n";
    }
    auto const source = read_and_write(program);
    auto const output = read_and_write(source.written);
    RC_ASSERT(source.errors.empty() && output.errors.empty());
    auto const meant = moving(source.motions);
    auto const found = moving(output.motions);
    RC_ASSERT(meant.size() == found.size());
    for (std::size_t i = 0; i < meant.size(); ++i)
      RC_ASSERT(meant[i].path == found[i].path && near(meant[i].to, found[i].to));
  }));
}
