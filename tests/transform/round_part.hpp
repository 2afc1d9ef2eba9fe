#pragma once

#include "fixture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

/// A plate with rounded corners in plan and a round along its upper edge, finished in levels: the program as
/// a CAM package would have posted it, and the part's geometry by formulas of its own. The top face is Z0.
namespace restep::transform::testing {

enum class Writing { arcs, r_arcs, chords, incremental, inch };

struct RoundPart {
  double half_x = 15, half_y = 10, corner = 4; ///< of the outline, mm
  double round = 2;                            ///< of the upper edge
  std::string tool = "bull 3 r0.3";
  double first = -0.1, step = 0.1; ///< height of the first level; from there down
  int levels = 20;
  Writing writing = Writing::arcs;
  int digits = 4;
  int chords = 0; ///< of each arc, where arcs are written as chords; 0: as many as keep within 2 um
  bool bottom_up = false;
  bool inside = false;  ///< an opening: the material lies outside the outline
  bool against = false; ///< the contour the other way round
  bool open = false;    ///< one side of the plate alone, every second level the other way
  double lead = 1.5;    ///< radius of the arcs in and out; 0: none
  double scale = 1;     ///< everything, the tool too
  /// What takes the tool down beside the first contour, in place of G0 to Z2 and a feed; empty: those.
  std::string way_in;

  double radius() const { return scale * cutter::parse_tool(tool)->diameter / 2; }
  double corner_radius() const { return scale * cutter::parse_tool(tool)->corner_radius; }
  double big() const { return scale * round + corner_radius(); }

  /// Slope of the round where the tip stands at height z, radians: the corner arc's centre rides on R + r.
  double slope_at(double z) const { return std::acos(std::clamp((z + big()) / big(), 0.0, 1.0)); }
  /// Where the tip stands: its distance from the outline, outwards.
  double out_at(double slope) const {
    return -scale * round + big() * std::sin(slope) + radius() - corner_radius();
  }
  double height_at(double slope) const { return big() * std::cos(slope) - big(); }

  /// Distance of a point in plan from the outline, away from the material.
  double outside(geometry::Vec2 p) const {
    double const x = std::abs(p.x) - scale * (half_x - corner), y = std::abs(p.y) - scale * (half_y - corner);
    double const outwards =
        std::hypot(std::max(x, 0.0), std::max(y, 0.0)) + std::min(std::max(x, y), 0.0) - scale * corner;
    return inside ? -outwards : outwards;
  }

  std::vector<double> heights() const {
    std::vector<double> z;
    for (int k = 0; k < levels; ++k)
      z.push_back(scale * (first - k * step));
    if (bottom_up) std::reverse(z.begin(), z.end());
    return z;
  }

  cutter::Tool cutter_tool() const {
    cutter::Tool t = cutter::parse_tool(tool).value();
    t.number = 3;
    t.diameter *= scale;
    t.corner_radius *= scale;
    return t;
  }

  /// What a corner that reaches from one level's tip to the next leaves above the round, along its normal:
  /// the outlines of the two tools, told point by point, meet there. Slopes in radians, the upper level
  /// first.
  double cusp_between(double upper, double lower) const {
    double const r = corner_radius(), flat = radius() - r;
    auto const underside = [&](double slope, double u) {
      double const beyond = std::abs(u - out_at(slope)) - flat;
      return height_at(slope) + (beyond <= 0 ? 0 : r - std::sqrt(std::max(0.0, r * r - beyond * beyond)));
    };
    // From the side of the lower tool on, which goes straight up, to where it has come down to the upper one.
    double low = out_at(lower) - radius(), high = out_at(lower) - flat;
    if (underside(lower, low) > underside(upper, low) && r > 0)
      for (int i = 0; i < 100; ++i) {
        double const middle = (low + high) / 2;
        (underside(lower, middle) > underside(upper, middle) ? low : high) = middle;
      }
    double const u = low + scale * round, z = underside(upper, low) + scale * round;
    return std::hypot(u, z) - scale * round;
  }

  /// The least number of levels from the tangency to a level below it, that one not counted: as large a step
  /// as the cusp allows, again and again.
  int least_levels(double lower, double cusp) const {
    double at = 0;
    int count = 0;
    for (; at < lower; ++count) {
      double low = at, high = std::numbers::pi / 2;
      for (int i = 0; i < 100; ++i) {
        double const middle = (low + high) / 2;
        (cusp_between(at, middle) <= cusp ? low : high) = middle;
      }
      at = low;
    }
    return count;
  }

  std::string program() const;
};

namespace round_part {

// Writes blocks in one of the writings and keeps track of the place.
class Post {
public:
  explicit Post(RoundPart const& part)
      : inch_(part.writing == Writing::inch)
      , incremental_(part.writing == Writing::incremental)
      , r_(part.writing == Writing::r_arcs)
      , chords_(part.writing == Writing::chords)
      , chords_per_arc_(part.chords)
      , digit_(std::pow(10, -part.digits) * (inch_ ? 25.4 : 1))
      , decimals_(part.digits) {
    text = fmt::format("G90 G94 G17 G40 G49 G80\n{}\nT3 M6\nS7000 M3\n", inch_ ? "G20" : "G21");
  }
  void line(std::string const& block) { text += block + "\n"; }
  std::string number(double mm) const { return fmt::format("{:.{}f}", mm / (inch_ ? 25.4 : 1), decimals_); }
  void feed(double mm_per_minute) {
    word_ = " F" + fmt::format("{:.4f}", mm_per_minute / (inch_ ? 25.4 : 1));
  }
  void move(int g, double x, double y, double z) {
    geometry::Vec3 const to = rounded({x, y, z});
    text += fmt::format("G{}{}{}\n", g, place(to), g == 0 ? std::string() : word_);
    at = to;
  }
  void arc(bool ccw, double x, double y, geometry::Vec2 centre) {
    if (chords_) return chords(ccw, {x, y}, centre);
    geometry::Vec3 const to = rounded({x, y, at.z});
    std::string const how = r_ ? fmt::format(" R{}", number(std::hypot(at.x - centre.x, at.y - centre.y)))
                               : fmt::format(" I{} J{}", number(centre.x - at.x), number(centre.y - at.y));
    text += fmt::format("G{}{}{}{}\n", ccw ? 3 : 2, place(to), how, word_);
    at = to;
  }
  void begin_pass() {
    if (incremental_) line("G91");
  }
  void end_pass() {
    if (incremental_) line("G90");
  }

  std::string text;
  geometry::Vec3 at{0, 0, 0};

private:
  geometry::Vec3 rounded(geometry::Vec3 p) const {
    for (int i = 0; i < 3; ++i)
      p[i] = std::round(p[i] / digit_) * digit_;
    return p;
  }
  std::string place(geometry::Vec3 const& to) const {
    bool const relative = incremental_ && text.find("G91") != std::string::npos;
    std::string out;
    for (int i = 0; i < 3; ++i)
      out += fmt::format(" {}{}", "XYZ"[i], number(relative ? to[i] - at[i] : to[i]));
    return out;
  }
  // Chords that stand 2 um off the arc at most.
  void chords(bool ccw, geometry::Vec2 to, geometry::Vec2 centre) {
    double const r = std::hypot(at.x - centre.x, at.y - centre.y);
    double const begin = std::atan2(at.y - centre.y, at.x - centre.x);
    double turn = std::atan2(to.y - centre.y, to.x - centre.x) - begin;
    while (ccw && turn <= 0)
      turn += 2 * std::numbers::pi;
    while (!ccw && turn >= 0)
      turn -= 2 * std::numbers::pi;
    int const count = chords_per_arc_ > 0
                          ? chords_per_arc_
                          : static_cast<int>(std::ceil(std::abs(turn) / (2 * std::acos(1 - 0.002 / r))));
    for (int i = 1; i <= count; ++i)
      move(1, centre.x + r * std::cos(begin + turn * i / count),
           centre.y + r * std::sin(begin + turn * i / count), at.z);
  }

  bool inch_, incremental_, r_, chords_;
  int chords_per_arc_;
  double digit_;
  int decimals_;
  std::string word_;
};

} // namespace round_part

inline std::string RoundPart::program() const {
  round_part::Post post(*this);
  double const l = scale * lead, clear = scale * 2;
  double const cx = scale * (half_x - corner), cy = scale * (half_y - corner);
  bool begun = false;
  int index = 0;
  post.move(0, 0, scale * (half_y + 20), scale * 15);
  for (double const z : heights()) {
    double const side = inside ? -1 : 1, u = side * out_at(slope_at(z));
    double const x = scale * half_x + u, y = scale * half_y + u;
    double const way = (against ? -1 : 1) * (open && index++ % 2 == 1 ? -1 : 1);
    double const from = open ? -way * cx : 0;
    // In beside the start of the contour, and down.
    bool const first_down = !begun && !way_in.empty();
    if (first_down) {
      post.line(way_in);
      post.at = {from - way * l, y + side * l, z};
    } else {
      post.move(0, from - way * l, y + side * l, post.at.z);
      post.move(0, from - way * l, y + side * l, clear);
    }
    if (!begun) post.begin_pass();
    begun = true;
    post.feed(150);
    if (!first_down) post.move(1, from - way * l, y + side * l, z);
    post.feed(400);
    bool const ccw = way * side > 0;
    if (l > 0) post.arc(ccw, from, y, {from, y + side * l});
    double last = from;
    if (open) {
      last = way * cx;
      post.move(1, last, y, z);
    } else {
      post.move(1, way * cx, y, z);
      post.arc(way < 0, way * x, cy, {way * cx, cy});
      post.move(1, way * x, -cy, z);
      post.arc(way < 0, way * cx, -y, {way * cx, -cy});
      post.move(1, -way * cx, -y, z);
      post.arc(way < 0, -way * x, -cy, {-way * cx, -cy});
      post.move(1, -way * x, cy, z);
      post.arc(way < 0, -way * cx, y, {-way * cx, cy});
      post.move(1, 0, y, z);
    }
    if (l > 0) post.arc(ccw, last + way * l, y + side * l, {last, y + side * l});
    post.move(0, last + way * l, y + side * l, clear);
  }
  post.end_pass();
  post.move(0, post.at.x, post.at.y, scale * 15);
  post.line("M5");
  post.line("M30");
  return post.text;
}

} // namespace restep::transform::testing
