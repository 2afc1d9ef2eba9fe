// Spirals at random: whatever is re-stepped meets its target, and its points lie on the part's true surface.

#include "random_part.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using finish::PassStatus;
using geometry::Vec2;

namespace {

/// A boss or a pocket whose outline is a rectangle with round corners, cut in chords in one way down.
struct RandomSpiral {
  RandomSurface surface;
  cutter::Tool tool;
  double half_x = 15, half_y = 10, corner = 4; ///< mm
  bool pocket = false, clockwise = false;
  bool closed = true; ///< a turn at one height at the end
  int turns = 10;
  double digits = 1e-3;
  double chord = 0.002; ///< mm, largest sagitta at the outline's corners

  std::string text() const {
    return fmt::format(
        "surface {} size {:.3f} angle {:.2f} depth {:.2f}, {:.2f} x {:.2f} corner {:.2f}, {}, {}{}{} "
        "turns, digits {}, chords {}",
        static_cast<int>(surface.kind), surface.size, surface.angle, surface.depth, half_x, half_y, corner,
        cutter::describe(tool), pocket ? "pocket " : "boss ", clockwise ? "clockwise " : "", turns, digits,
        chord);
  }
  double rounded(double x) const { return std::round(x / digits) * digits; }
  std::optional<double> offset(double depth) const {
    return surface.offset(depth, tool.flat_radius(), tool.corner_radius);
  }

  /// Distance from the outline, outwards above 0.
  double distance_from_outline(Vec2 p) const {
    Vec2 const q{std::abs(p.x) - (half_x - corner), std::abs(p.y) - (half_y - corner)};
    return length(Vec2{std::max(q.x, 0.0), std::max(q.y, 0.0)}) + std::min(std::max(q.x, q.y), 0.0) - corner;
  }

  /// None where the part cannot be cut so.
  std::optional<std::vector<Step>> program() const {
    std::vector<Place> round = places();
    if (clockwise) std::reverse(round.begin() + 1, round.end());
    double const top = surface.depth / turns;
    std::size_t const n = round.size();
    Program p;
    p.rapid(0, 0, rounded(15));
    for (std::size_t i = 0; i <= n * static_cast<std::size_t>(turns - (closed ? 0 : 1)); ++i) {
      double const down = std::min(surface.depth, top + (surface.depth - top) * static_cast<double>(i) /
                                                            static_cast<double>(n) / (turns - 1));
      auto const d = offset(down);
      if (!d || (pocket && *d > corner - 0.3)) return std::nullopt;
      Place const& at = round[i % n];
      Vec2 const to = at.on + (pocket ? -*d : *d) * at.outwards;
      if (i == 0) {
        Vec2 const air = to + (pocket ? -0.7 : 0.7) * at.outwards;
        p.rapid(rounded(air.x), rounded(air.y), rounded(2));
        p.feed(nowhere, nowhere, rounded(-down), 150);
      }
      p.feed(rounded(to.x), rounded(to.y), rounded(-down), 400);
    }
    p.rapid_z(rounded(15));
    return p.steps;
  }

private:
  struct Place {
    Vec2 on, outwards;
  };

  /// Counter-clockwise once round the outline, from the middle of its right side.
  std::vector<Place> places() const {
    std::vector<Place> all;
    double const x = half_x - corner, y = half_y - corner;
    int const chords = std::max(
        3, static_cast<int>(std::ceil(std::numbers::pi / 2 / (2 * std::acos(1 - chord / (corner + 3))))));
    constexpr int pieces = 12; // of a side: the surface curves along it
    auto const side = [&](Vec2 from, Vec2 to, Vec2 outwards, int begin, int end) {
      for (int i = begin; i < end; ++i)
        all.push_back({from + static_cast<double>(i) / pieces * (to - from), outwards});
    };
    auto const round = [&](Vec2 centre, double begin) {
      for (int i = 0; i < chords; ++i) {
        double const angle = begin + std::numbers::pi / 2 * i / chords;
        Vec2 const out{std::cos(angle), std::sin(angle)};
        all.push_back({centre + corner * out, out});
      }
    };
    double const quarter = std::numbers::pi / 2;
    side({half_x, -y}, {half_x, y}, {1, 0}, pieces / 2, pieces);
    round({x, y}, 0);
    side({x, half_y}, {-x, half_y}, {0, 1}, 0, pieces);
    round({-x, y}, quarter);
    side({-half_x, y}, {-half_x, -y}, {-1, 0}, 0, pieces);
    round({-x, -y}, 2 * quarter);
    side({-x, -half_y}, {x, -half_y}, {0, -1}, 0, pieces);
    round({x, -y}, 3 * quarter);
    side({half_x, -y}, {half_x, y}, {1, 0}, 0, pieces / 2);
    return all;
  }
};

/// The same spiral for the same seed, everywhere.
RandomSpiral random_spiral(unsigned seed) {
  std::mt19937 source(seed);
  auto const whole = [&](int low, int high) { // high is not among them
    return low + static_cast<int>(source() % static_cast<unsigned>(high - low));
  };
  auto const number = [&](double low, double high) { return low + (high - low) * whole(0, 1001) / 1000.0; };
  RandomSpiral s;
  s.tool =
      cutter::parse_tool(std::array{"bull 3 r0.3", "ball 2", "flat 3", "bull 6 r1"}[whole(0, 4)]).value();
  s.tool.number = 1;
  using Surface = RandomSurface::Kind;
  s.surface.kind = std::array{Surface::draft, Surface::round, Surface::fillet}[whole(0, 3)];
  s.surface.size = number(1.2, 3);
  s.surface.angle = number(1, 10);
  s.surface.depth = number(1, 3);
  s.pocket = whole(0, 2) == 0;
  s.corner = s.pocket ? number(5, 8) : number(3, 6);
  s.half_x = number(9, 20);
  s.half_y = number(9, 20);
  s.clockwise = whole(0, 2) == 0;
  s.turns = whole(8, 24);
  s.digits = std::array{1e-3, 1e-4}[whole(0, 2)];
  s.chord = std::array{0.001, 0.002, 0.005}[whole(0, 3)];
  return s;
}

/// How far a tip that stands d from the outline lies off the part's true surface, mm: the least distance from
/// its tip positions at heights about its own.
double off_surface(RandomSpiral const& spiral, double d, double down) {
  double least = std::abs(spiral.offset(down).value() - d);
  for (int i = -200; i <= 200; ++i) {
    double const other =
        0.02 * std::pow(i / 200.0, 3); // close together: near a floor d goes with the root of z
    if (auto const there = spiral.offset(down + other))
      least = std::min(least, std::hypot(*there - d, other));
  }
  return least;
}

/// The deepest that a point of the spiral lies below the part's true surface, um.
double most_cut(RandomSpiral const& spiral, std::vector<Step> const& steps) {
  double most = 0;
  for (Step const& step : steps) {
    auto const* m = motion::motion_of(step);
    if (m == nullptr || !step.generated) continue;
    double const out = spiral.distance_from_outline(geometry::xy(m->to));
    double const d = spiral.pocket ? -out : out;
    if (1000 * (spiral.offset(-m->to.z).value() - d) > most)
      most = std::max(most, 1000 * off_surface(spiral, d, -m->to.z));
  }
  return most;
}

} // namespace

namespace {

struct Tally {
  int restepped = 0;
  int kept = 0;
};

// Re-steps one and holds it to its target and to the part's true surface.
void check_restepped(RandomSpiral const& spiral, unsigned seed, Tally& tally) {
  auto const program = spiral.program();
  if (!program) return;
  double const target = seed % 2 == 0 ? 2 : 5;
  Restepped const ran = run_restep(*program, {spiral.tool}, cusp_target(target), 1e-4);
  INFO("spiral " << seed << ": " << spiral.text() << '\n'
                 << ran.proof_failure << (ran.passes.empty() ? "" : ran.passes.front().reason));
  CHECK(ran.proof_failure == "");
  REQUIRE(ran.passes.size() == 1);
  finish::PassReport const& pass = ran.passes.front();
  CHECK(pass.shape == "spiral");
  if (pass.status != PassStatus::restepped) {
    ++tally.kept;
    return;
  }
  ++tally.restepped;
  CHECK(pass.after.cusp_max_um <= 1.02 * target);
  // Half a digit in X, Y and Z of the program's closing turn and of what is written, and what the program's
  // own points scatter about the surface that was fitted to them.
  double const digits = 1000 * std::sqrt(0.5) * (spiral.digits + 1e-4);
  CHECK(most_cut(spiral, ran.steps) <= 1.5 * digits + pass.fit_residual_um + 0.2);
}

} // namespace

TEST_CASE("what is re-stepped of a random spiral meets its target on the part's true surface",
          "[spiral][parts]") {
  Tally tally;
  for (unsigned seed = 0; seed < 80; ++seed)
    check_restepped(random_spiral(seed), seed, tally);
  CHECK(tally.restepped > 45);
  CHECK(tally.kept < 25);
}

TEST_CASE("a spiral that ends without a turn at one height is re-stepped above its last turn",
          "[spiral][parts]") {
  Tally tally;
  for (unsigned seed = 0; seed < 40; ++seed) {
    RandomSpiral spiral = random_spiral(seed);
    spiral.closed = false;
    check_restepped(spiral, seed, tally);
  }
  CHECK(tally.restepped > 25);
  CHECK(tally.kept < 12);
}
