#include "proof/compare.hpp"

#include "interpret/reader.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <string>
#include <string_view>
#include <utility>

using namespace restep;
using Catch::Matchers::Contains;

namespace {

/// Gives a program's steps one by one.
class OneByOne final : public motion::StepSource {
public:
  explicit OneByOne(motion::StepSource& source)
      : source_(source) {}
  bool next(motion::Step& step) override { return source_.next(step); }

private:
  motion::StepSource& source_;
};

/// Compares what two programs' readers give, or what `As` makes of them.
template <class As = motion::StepSource&>
proof::Comparison compare(std::string_view a, std::string_view b, proof::CompareRules const& rules = {}) {
  text::Input input_a = text::Input::from_memory(a), input_b = text::Input::from_memory(b);
  text::Findings findings;
  interpret::ProgramReader reader_a(input_a, {}, findings), reader_b(input_b, {}, findings);
  As steps_a(reader_a), steps_b(reader_b);
  auto result = proof::compare_cuts(steps_a, steps_b, rules);
  REQUIRE_FALSE(findings.has_errors());
  return result;
}

proof::CompareRules within(double tolerance) {
  proof::CompareRules rules;
  rules.tolerance = tolerance;
  return rules;
}

proof::CompareRules moved_by(motion::Vec3 shift) {
  proof::CompareRules rules;
  rules.shift = shift;
  return rules;
}

std::string kind_of(proof::CutDifference const& difference) {
  return difference.what.substr(0, difference.what.find(':'));
}

std::string program(std::string const& cuts, std::string const& head = "T3 M6\nS8000 M3\nM8\n") {
  return "G21 G90 G17\n" + head + "G0 X0 Y0 Z5\nG1 Z0 F300\n" + cuts + "G0 Z5\nM5\nM30\n";
}

} // namespace

TEST_CASE("a program cuts what it cuts", "[compare]") {
  std::string const text = program("G1 X10\nG2 X20 Y-10 I0 J-10\nG1 Y-30\n");
  auto const result = compare(text, text);
  CHECK(result.same());
  CHECK(result.largest_deviation < 1e-9);
  // A plunge of 5, a line of 10, a quarter of radius 10, a line of 20.
  CHECK(result.length_a == Approx(5 + 10 + 5 * 3.14159265 + 20));
  CHECK(result.length_a == result.length_b);
}

TEST_CASE("a line cut into three is the same line", "[compare]") {
  CHECK(compare(program("G1 X10\n"), program("G1 X3\nG1 X7\nG1 X10\n")).same());
  CHECK(compare(program("G1 X3\nG1 X7\nG1 X10\n"), program("G1 X5\nG1 X10\n")).same());
}

TEST_CASE("a full circle in halves or quarters is the same circle", "[compare]") {
  std::string const whole = "G3 X0 Y0 I10 J0\n";
  CHECK(compare(program(whole), program("G3 X20 Y0 I10 J0\nG3 X0 Y0 I-10 J0\n")).same());
  CHECK(compare(program("G3 X10 Y-10 I10 J0\nG3 X0 Y0 I0 J10\n"), program(whole)).same());
}

TEST_CASE("a circle the other way round is another cut", "[compare]") {
  auto const result = compare(program("G3 X0 Y0 I10 J0\n"), program("G2 X0 Y0 I10 J0\n"));
  REQUIRE(result.path);
  CHECK(result.path->a.line == 7);
  CHECK(result.path->b.line == 7);
}

TEST_CASE("a line cut twice is not the same as one cut once", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 X0\n"), program("G1 X10\n"));
  REQUIRE(result.path);
  CHECK_THAT(result.path->what, Contains("only A goes on"));
}

TEST_CASE("a corner that moved by 5 um is found at its line", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 Y10\nG1 X0\n"), program("G1 X10\nG1 Y10.005\nG1 X0\n"));
  REQUIRE(result.path);
  // B's second line goes on where A's third begins.
  CHECK(result.path->a.line == 9);
  CHECK(result.path->b.line == 8);
}

TEST_CASE("a corner that moved by less than the tolerance is measured", "[compare]") {
  auto const result = compare(program("G1 X10\nG1 Y10\nG1 X0\n"), program("G1 X10\nG1 Y10.0008\nG1 X0\n"));
  CHECK(result.same());
  CHECK(result.largest_deviation == Approx(0.0008).margin(1e-7));
}

TEST_CASE("rapids on another way make no other cut", "[compare]") {
  CHECK(compare(program("G1 X10\nG0 Z5\nX30\nZ0\nG1 X40\n"), program("G1 X10\nG0 Z9\nX30 Y0\nZ0\nG1 X40\n"))
            .same());
}

TEST_CASE("a cut that begins elsewhere after a rapid is found", "[compare]") {
  auto const result =
      compare(program("G1 X10\nG0 Z5\nX30\nZ0\nG1 X40\n"), program("G1 X10\nG0 Z5\nX31\nZ0\nG1 X40\n"));
  REQUIRE(result.path);
  CHECK(result.path->a.line == 11);
}

TEST_CASE("another feed, tool, speed, coolant or work offset is found and named", "[compare]") {
  std::string const text = program("G1 X10\n");
  auto const only = [&](std::string const& other, std::string const& kind) {
    auto const result = compare(text, other);
    INFO(kind);
    CHECK_FALSE(result.path);
    REQUIRE(result.states.size() == 1);
    CHECK_THAT(result.states.front().what, Catch::Matchers::StartsWith(kind));
  };
  only(program("G1 X10 F280\n"), "feed");
  only(program("G1 X10\n", "T4 M6\nS8000 M3\nM8\n"), "tool");
  only(program("G1 X10\n", "T3 M6\nS7000 M3\nM8\n"), "speed");
  only(program("G1 X10\n", "T3 M6\nS8000 M4\nM8\n"), "spindle");
  only(program("G1 X10\n", "T3 M6\nS8000 M3\n"), "coolant");
  only(program("G1 X10\n", "T3 M6\nS8000 M3\nM8\nG55\n"), "work offset");
}

TEST_CASE("a drilled hole is the same hole when it is written out", "[compare]") {
  CHECK(compare(program("G0 Z5\nG98 G81 X10 Y0 Z-3 R1 F100\nG80\n"),
                program("G0 Z5\nG0 X10\nZ1\nG1 Z-3 F100\nG0 Z5\n"))
            .same());
}

TEST_CASE("many chords drift along an arc without the two coming apart", "[compare]") {
  // Ten turns of radius 10 in chords of 1.5 degrees: the chords are 1.8 mm shorter in all.
  std::string arcs, chords;
  for (int turn = 0; turn < 10; ++turn) {
    arcs += "G3 X0 Y0 I10 J0\n";
    for (int i = 1; i <= 240; ++i) {
      double const angle = 3.14159265358979 * (1 + i / 120.0);
      chords += "G1 X" + std::to_string(10 + 10 * std::cos(angle)) + " Y" +
                std::to_string(10 * std::sin(angle)) + "\n";
    }
  }
  auto const result = compare(program(arcs), program(chords), within(0.002));
  CHECK(result.same());
  // Sagitta of a chord: 10 (1 - cos(0.75 deg)) = 0.86 um.
  CHECK(result.largest_deviation == Approx(0.00086).margin(0.00002));
}

TEST_CASE("a program that was moved is the same when the shift is said, and only then", "[compare]") {
  std::string const a =
      "G21 G90 G54\nT3 M6\nS8000 M3\nG0 X0 Y0 Z5\nG1 Z-1 F300\nG1 X10\nG3 X0 Y10 I-10 J0\nG0 Z5\nM30\n";
  std::string const b = "G21 G90 G55\nT3 M6\nS8000 M3\nG0 X100 Y-20 Z7\nG1 Z1 F300\nG1 X110\nG3 X100 Y-10 "
                        "I-10 J0\nG0 Z7\nM30\n";
  CHECK(compare(a, b, moved_by({100, -20, 2})).same());
  CHECK(compare(b, a, moved_by({-100, 20, -2})).same());
  REQUIRE(compare(a, b).path);
  CHECK(compare(a, b).path->a.line == 5);
  auto const wrong = compare(a, b, moved_by({100, -20, 2.005}));
  REQUIRE(wrong.path);
  CHECK(wrong.path->a.line == 5);
}

TEST_CASE("a moved program may use another work offset, but one for one", "[compare]") {
  auto const two_parts = [](char const* first, char const* second) {
    return "G21 G90\nS8000 M3\n" + std::string(first) + "\nG0 X0 Y0 Z1\nG1 X10 F300\n" + second +
           "\nG0 X0 Y0 Z1\nG1 X10\nM30\n";
  };
  CHECK(compare(two_parts("G54", "G55"), two_parts("G56", "G57"), moved_by({})).same());
  auto const mixed = compare(two_parts("G54", "G55"), two_parts("G56", "G56"), moved_by({}));
  REQUIRE(mixed.states.size() == 1);
  CHECK(kind_of(mixed.states[0]) == "work offset");
  CHECK(mixed.states[0].a.line == 8);
}

TEST_CASE("coordinates shifted by G92 or G52 are compared where they lie in the work offset", "[compare]") {
  std::string const head = "G21 G90\nS8000 M3\nG0 X0 Y0 Z1\n";
  std::string const plain = head + "G0 X20\nG1 X30 F300\nM30\n";
  CHECK(compare(plain, head + "G0 X20\nG92 X0\nG1 X10 F300\nM30\n").same());
  CHECK(compare(plain, head + "G0 X20\nG92 X0\nG92.1\nG1 X30 F300\nM30\n").same());
  CHECK(compare(plain, head + "G0 X20\nG92 X0\nG92.2\nG92.3\nG1 X10 F300\nM30\n").same());
  CHECK(compare(plain, head + "G52 X20\nG0 X0\nG1 X10 F300\nM30\n").same());
  // The same numbers from another place are another cut.
  CHECK(compare(plain, head + "G92 X5\nG0 X20\nG1 X30 F300\nM30\n").path);
  CHECK(compare(plain, head + "G52 X5\nG0 X20\nG1 X30 F300\nM30\n").path);
}

TEST_CASE("a G92 at a place that is not known is the same only as another", "[compare]") {
  std::string const cut = "G21 G90\nS8000 M3\nG0 X0 Y0 Z1\nG1 X30 F300\nM30\n";
  std::string const anchored = "G92 X0 Y0 Z1\n" + cut;
  CHECK(compare(anchored, anchored).same());
  auto const result = compare(cut, anchored);
  REQUIRE(result.states.size() == 1);
  CHECK(kind_of(result.states[0]) == "coordinate shift");
}

TEST_CASE("an origin, a length offset or a compensation that differs is found and named", "[compare]") {
  auto const one = [](std::string const& line) {
    return "G21 G90 G54\nS8000 M3\nG0 X0 Y0 Z1\n" + line + "\nG0 X0 Y0 Z1\nG1 X30 F300\nM30\n";
  };
  auto const only = [&](std::string const& a, std::string const& b, std::string const& kind) {
    auto const result = compare(one(a), one(b));
    INFO(kind);
    CHECK_FALSE(result.path);
    REQUIRE(result.states.size() == 1);
    CHECK(kind_of(result.states.front()) == kind);
    CHECK(compare(one(a), one(a)).same());
    CHECK(compare(one(b), one(b)).same());
  };
  only("G10 L2 P1 X5 Y0 Z0", "G10 L2 P1 X6 Y0 Z0", "origin");
  only("G43 H3", "G43 H4", "tool length offset");
  only("G43 H3", "(none)", "tool length offset");
  proof::CompareRules rules;
  rules.length_offsets = false;
  CHECK(compare(one("G43 H3"), one("(none)"), rules).same());
}

// "the spindle will be stopped ... coolant continues to flow" (NISTIR 6556, 3.6.3).
TEST_CASE("after a tool change the spindle stands and the coolant flows on", "[compare]") {
  auto const after = [](std::string const& line) {
    return program("G1 X10\nG0 Z5\nT4 M6\n" + line + "\nG0 Z0\nG1 X20\n");
  };
  auto const result = compare(after("M3"), after("(no M3)"));
  REQUIRE(result.states.size() == 1);
  CHECK(kind_of(result.states[0]) == "spindle");
  CHECK(compare(after("M3"), after("M3 M8")).same());
}

TEST_CASE("inches and millimetres, increments and coordinates are the same cut", "[compare]") {
  std::string const mm = program("G1 X25.4\nG2 X50.8 Y-25.4 I0 J-25.4\nG1 Y-50.8\n");
  std::string const inch = "G20 G90 G17\nT3 M6\nS8000 M3\nM8\nG0 X0 Y0 Z.19685\nG1 Z0 F11.811\nG91\nX1\n"
                           "G2 X1 Y-1 J-1\nG1 Y-1\nG90 G0 Z.2\nM5\nM30\n";
  CHECK(compare(mm, inch).same());
}

TEST_CASE("a helix in quarters, in chords and in other halves is one helix", "[compare]") {
  std::string const whole = program("G3 X0 Y0 Z-4 I10 J0\n");
  CHECK(
      compare(whole,
              program("G3 X10 Y-10 Z-1 I10 J0\nX20 Y0 Z-2 I0 J10\nX10 Y10 Z-3 I-10 J0\nX0 Y0 Z-4 I0 J-10\n"))
          .same());
  std::string chords;
  for (int i = 1; i <= 400; ++i) {
    double const angle = 3.14159265358979 * (1 + i / 200.0);
    chords += "G1 X" + std::to_string(10 + 10 * std::cos(angle)) + " Y" +
              std::to_string(10 * std::sin(angle)) + " Z" + std::to_string(-4 * i / 400.0) + "\n";
  }
  CHECK(compare(whole, program(chords), within(0.0005)).same());
  CHECK(compare(whole, program("G3 X0 Y0 Z-4.01 I10 J0\n")).path);
}

TEST_CASE("comparing is symmetric", "[compare]") {
  std::string const a = program("G2 X10 Y10 I10 J0\nG1 X30\nY25 F200\nG2 X40 Y15 R10\n");
  std::string const b =
      program("G2 X2.929 Y7.071 R10\nX10 Y10 R10\nG1 X12\nX30\nY20 F200\nY25\nG2 X40 Y15 I0 J-10\n");
  auto const one = compare(a, b), other = compare(b, a);
  CHECK(one.same());
  CHECK(other.same());
  CHECK(one.largest_deviation == Approx(other.largest_deviation).margin(2e-4));
}

TEST_CASE("a cut smaller than the tolerance at the end is no other cut, a crawl away from it is",
          "[compare]") {
  CHECK(compare(program("G1 X10\nG3 X10 Y0 I0.0004 J0\n"), program("G1 X10\n")).same());
  CHECK(compare(program("G1 X10\n"), program("G1 X10\nX10.0006\nX10\n")).same());
  std::string crawl;
  for (int i = 1; i <= 20; ++i)
    crawl += "X" + std::to_string(10 + i * 0.0005) + "\n";
  auto const result = compare(program("G1 X10\n"), program("G1 X10\n" + crawl));
  REQUIRE(result.path);
  CHECK_THAT(result.path->what, Contains("only B goes on"));
}

TEST_CASE("a feed that differs is found in chords shorter than the tolerance", "[compare]") {
  std::string chords;
  for (int i = 1; i <= 2000; ++i)
    chords += "X" + std::to_string(i * 0.005) + (i == 1 ? " F280\n" : "\n");
  auto const result = compare(program("G1 X10\n"), program("G1\n" + chords), within(0.004));
  CHECK_FALSE(result.path);
  REQUIRE(result.states.size() == 1);
  CHECK(kind_of(result.states[0]) == "feed");
}

TEST_CASE("another feed or speed is found where every cut is a hair", "[compare]") {
  auto const hairs = [](double length, int feed, std::string const& head) {
    std::string cuts;
    for (int i = 1; i <= 2000; ++i)
      cuts += fmt::format("G1 X{:.5f} Y{:.5f} F{}\n", i * length, 0.0005 * std::sin(i / 50.0), feed);
    return "G21 G90 G17\n" + head + "G0 X0 Y0 Z0\n" + cuts + "M5\nM30\n";
  };
  std::string const slow = "S8000 M3\n", fast = "S9000 M3\n";
  for (double const length : {0.0004, 0.001, 0.0015, 0.0019, 0.0025}) {
    INFO(length);
    auto const feed = compare(hairs(length, 200, slow), hairs(length, 300, slow), within(0.001));
    REQUIRE(feed.states.size() == 1);
    CHECK(feed.states.front().what == "feed: A F200, B F300");
    auto const speed = compare(hairs(length, 200, slow), hairs(length, 200, fast), within(0.001));
    REQUIRE(speed.states.size() == 1);
    CHECK(speed.states.front().what == "speed: A S8000, B S9000");
    CHECK(compare(hairs(length, 200, slow), hairs(length, 200, slow), within(0.001)).same());
  }
}

TEST_CASE("a feed that changes between hairs is no difference where digits move the border", "[compare]") {
  auto const hairs = [](int decimals) {
    std::string cuts;
    for (int i = 1; i <= 4000; ++i)
      cuts += fmt::format("G1 X{:.{}f} Y{:.{}f} F{}\n", i * 0.00137, decimals, 0.0005 * std::sin(i / 50.0),
                          decimals, i / 400 % 2 == 0 ? 200 : 300);
    return "G21 G90 G17\nS8000 M3\nG0 X0 Y0 Z0\n" + cuts + "M5\nM30\n";
  };
  CHECK(compare(hairs(5), hairs(4), within(0.001)).same());
  CHECK(compare(hairs(5), hairs(3), within(0.001)).same());
}

namespace {

int lines_apart(proof::CutDifference const& a, proof::CutDifference const& b) {
  return std::abs(static_cast<int>(a.a.line) - static_cast<int>(b.a.line));
}

/// A walk of chords, and the same walk as another control may have it: rounded, here and there with a chord
/// in two, with a slip, with another feed.
std::pair<std::string, std::string> two_walks() {
  using property::draw;
  std::string a, b;
  int const slip = draw(0, 4) == 1 ? draw(1, 120) : 0;
  int const spread = draw(0, 5); // clearly within the tolerance, as slips are clearly outside
  int const longest = draw(0, 2) == 1 ? 30 : 2000;
  motion::Vec3 at{};
  for (int i = 1; i < 120; ++i) {
    motion::Vec3 const from = at;
    for (int axis = 0; axis < 3; ++axis)
      at[axis] += draw(-longest, longest + 1) * 1e-4;
    auto const off = [&] { return draw(-spread, spread + 1) * 1e-4; };
    auto const words = [](motion::Vec3 const& p) {
      return fmt::format("X{:.4f} Y{:.4f} Z{:.4f}", p.x, p.y, p.z);
    };
    a += words(at) + "\n";
    if (draw(0, 15) == 1) b += words(0.5 * (from + at)) + "\n";
    b += words(at + motion::Vec3{off(), off(), off()} +
               (i == slip ? motion::Vec3{0, 0, 0.01} : motion::Vec3{}));
    b += draw(0, 60) == 1 ? " F200\n" : "\n";
  }
  return {program("G1\n" + a), program("G1\n" + b)};
}

} // namespace

TEST_CASE("two programs differ where they do whether their cuts come in stretches or one by one",
          "[compare]") {
  CHECK(property::holds_often(2000, [] {
    auto const [a, b] = two_walks();
    auto const stretches = compare(a, b, within(0.001));
    auto const steps = compare<OneByOne>(a, b, within(0.001));
    RC_ASSERT(stretches.path.has_value() == steps.path.has_value());
    // A slip parts the ways at its beginning or at its end.
    if (stretches.path) RC_ASSERT(lines_apart(*stretches.path, *steps.path) <= 1);
    RC_ASSERT(stretches.cuts_a == steps.cuts_a);
    RC_ASSERT(stretches.cuts_b == steps.cuts_b);
    RC_ASSERT(std::abs(stretches.length_a - steps.length_a) < 1e-9);
    // Past a corner another point of one way is held against one of the other: less than half the tolerance.
    RC_ASSERT(std::abs(stretches.largest_deviation - steps.largest_deviation) < 0.0005);
    RC_ASSERT(stretches.states.size() == steps.states.size());
    // Beside a border a hair may belong to the cut before it.
    for (std::size_t i = 0; i < steps.states.size(); ++i)
      RC_ASSERT(lines_apart(stretches.states[i], steps.states[i]) <= 2);
  }));
}
