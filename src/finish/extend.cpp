// Levels above the first one of a round, up to where the round is tangent to the face above it.
//
// A CAM package that steps down by a constant amount begins one stepdown below the tangency and leaves the
// flattest part of the round uncut. The arc that explains the levels below is known there too.

#include "finish/extend.hpp"

#include "finish/course.hpp"
#include "finish/move_left.hpp"
#include "finish/place_levels.hpp"
#include "finish/section_levels.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using cutter::Meridian;
using cutter::Piece;

using geometry::um;

// The tangency may be no more uncertain than this: a few micrometres, or a few digits of a program that is
// written in coarser ones.
double most_uncertain(double resolution) {
  return std::max(0.003, 3 * resolution);
}

// Three standard deviations of the height of an arc's top, centre.y + rho, as the geometric fit to points on
// it knows it: with the rows (-n.x, -n.y, -1) of the fit's Jacobian J and g = (0, 1, 1) its variance is
// sigma^2 g^T (J^T J)^-1 g.
double top_known_within(Piece const& arc, std::vector<Vec2> const& points, double resolution) {
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  double squares = 0;
  for (Vec2 const p : points) {
    Vec2 const n = normalized(p - arc.centre);
    Eigen::Vector3d const row(-n.x, -n.y, -1);
    normal += row * row.transpose();
    double const off = distance(p, arc.centre) - arc.rho;
    squares += off * off;
  }
  if (points.size() < 4) return std::numeric_limits<double>::infinity();
  double const n = static_cast<double>(points.size());
  // An offset is a mean over many elements and heights are seldom rounded: a digit scatters less than the
  // 0.29 of a single number, but not by less than a few hundredths.
  double const sigma = std::max(std::sqrt(squares / (n - 3)), 0.1 * resolution);
  Eigen::Vector3d const g(0, 1, 1);
  return 3 * sigma * std::sqrt(std::max(0.0, g.dot(normal.ldlt().solve(g))));
}

// What an element of an extended contour must have in common with the element of the program's first level
// that it is an exact offset of.
class Against {
public:
  Against(double shift, double resolution)
      : shift_(shift)
      , resolution_(resolution) {}

  // Why `moved` is no offset of `own`; empty when it is one.
  std::string operator()(Segment const& own, Segment const& moved) const {
    double const length = own.length();
    double const tolerance =
        2.5 * resolution_ + std::abs(shift_) * resolution_ / std::max(length, resolution_);
    if (own.arc) {
      double const radius = own.radius() + (own.ccw ? -shift_ : shift_);
      if (radius <= resolution_)
        return fmt::format("a corner arc of R{:.3f} in its contours would vanish above the first level",
                           own.radius());
      if (std::abs(moved.radius() - radius) > tolerance) return off(std::abs(moved.radius() - radius));
    }
    Vec2 const along = own.arc ? own.direction_at_share(0.5) : own.direction_at_from();
    if (dot(moved.to - moved.from, along) <= 0 && !(own.arc && length > own.radius()))
      return "a line of its contours would vanish above the first level";
    for (bool const at_from : {true, false}) {
      Vec2 const left = left_normal(at_from ? own.direction_at_from() : own.direction_at_to());
      double const by = dot(left, at_from ? moved.from - own.from : moved.to - own.to);
      // At the end of an arc the point may slide along it.
      double const slide = distance(at_from ? moved.from : moved.to, at_from ? own.from : own.to);
      double const bend = own.arc ? (slide * slide - by * by) / (2 * own.radius()) : 0;
      if (std::abs(by - shift_) > tolerance + bend) return off(std::abs(by - shift_));
    }
    return {};
  }

private:
  static std::string off(double by) {
    return fmt::format("its contours moved on above the first level would stand {:.1f} um off its exact "
                       "offset",
                       um * by);
  }
  double shift_, resolution_;
};

// Why chords would stand too far off their curve; empty when they would not. Their proof allows a tenth more
// than those of the program.
std::string coarser(std::vector<Segment> const& moved, bool closed, double own, double resolution) {
  constexpr double growth = 1.08;
  double const sagitta = largest_sagitta(moved, closed);
  if (sagitta <= growth * own + 0.5 * resolution) return {};
  return fmt::format(
      "the chords of its contours would stand {:.2f} um off their curve above the first level, "
      "those of the program {:.2f} um",
      um * sagitta, um * own);
}

std::string by_element_trouble(Offsets const& offsets, Level const& top, double d, Against const& against,
                               double resolution) {
  for (std::size_t c = 0; c < offsets.points.size(); ++c) {
    Contour const& own = top.contours[c];
    std::size_t const n = own.segments.size();
    std::vector<Segment> whole;
    for (std::size_t j = 0; j < n; ++j) {
      PointLaw const& from = offsets.points[c][j];
      PointLaw const& to = offsets.points[c][own.closed && j + 1 == n ? 0 : j + 1];
      bool const exact =
          from.exact() && to.exact() && (!own.segments[j].arc || offsets.centres[c][j].exact());
      if (!exact)
        return "its corners do not move evenly with the offset: where they are above the first level is "
               "not known";
      Segment moved = own.segments[j];
      moved.from = from.at(d);
      moved.to = to.at(d);
      if (moved.arc) moved.centre = offsets.centres[c][j].at(d);
      if (std::string trouble = against(own.segments[j], moved); !trouble.empty()) return trouble;
      whole.push_back(moved);
    }
    if (std::string trouble =
            coarser(whole, own.closed, largest_sagitta(own.segments, own.closed), resolution);
        !trouble.empty())
      return trouble;
  }
  return {};
}

// Radius of a curve told in chords that is (nearly) used up when the contour is moved to the left; 0 where
// none is.
double vanishing_curve(Contour const& own, double shift) {
  constexpr double least_left = 0.15; // of the radius: shorter chords are lost in the digits
  std::vector<double> const bends = bends_of(own.segments, own.closed);
  for (std::size_t j = 0; j < bends.size(); ++j) {
    if (bends[j] == 0) continue;
    double const radius = own.segments[j].length() / std::abs(bends[j]);
    if (bends[j] * shift > 0 && radius - std::abs(shift) < least_left * radius) return radius;
  }
  return 0;
}

std::string in_plan_trouble(Level const& top, double shift, double resolution) {
  for (Contour const& own : top.contours) {
    auto const moved = move_left(own.segments, own.closed, shift, resolution);
    if (!moved) return "its contours cannot be moved above the first level: a part of them would vanish";
    std::vector<bool> left(own.segments.size(), false);
    for (std::size_t const j : moved->origin)
      left[j] = true;
    for (std::size_t j = 0; j < left.size(); ++j)
      if (!left[j] && own.segments[j].arc)
        return fmt::format("a corner arc of R{:.3f} in its contours would vanish above the first level",
                           own.segments[j].radius());
    if (double const radius = vanishing_curve(own, shift); radius > 0)
      return fmt::format(
          "a corner of R{:.3f} in its contours, told in chords, would all but vanish above the "
          "first level",
          radius);
  }
  return {};
}

// The part of a strip below arc length s.
Meridian below(Meridian const& strip, double s) {
  Piece piece = strip.pieces().front();
  piece.from = strip.at(s);
  return Meridian({piece});
}

} // namespace

Strip strip_above(MeridianFit const& fit, std::vector<Vec2> const& tips, double corner_radius,
                  double resolution) {
  MeridianSection const& top = fit.sections.front();
  if (top.last == top.first) return {};
  Piece const& round = top.meridian.pieces().front();
  if (round.shape != Piece::Shape::arc || !round.convex) return {};
  if (top.meridian.surfaces(corner_radius).front().kind == cutter::SurfaceKind::edge) return {};
  Strip strip;
  Vec2 const tangency = round.centre + Vec2{0, round.rho};
  strip.height = std::max(0.0, tangency.y - round.from.y);
  std::vector<Vec2> on_it;
  for (std::size_t k = top.first; k <= top.last; ++k)
    if (top.meridian.nearest(tips[k]) <= top.meridian.starts()[1]) on_it.push_back(tips[k]);
  strip.known_within = top_known_within(round, on_it, resolution);
  if (strip.height == 0) return strip;
  Piece piece = round;
  piece.from = tangency;
  piece.to = round.from;
  strip.meridian = Meridian({piece});
  return strip;
}

cutter::Meridian extended(cutter::Meridian const& meridian, Strip const& strip) {
  std::vector<Piece> pieces = meridian.pieces();
  if (!strip.meridian.pieces().empty()) pieces.front().from = strip.meridian.pieces().front().from;
  return Meridian(std::move(pieces));
}

tl::expected<StripLevels, std::string> plan_strip(Strip const& strip, Stack const& stack,
                                                  Offsets const& offsets, cutter::Tool const& tool,
                                                  StripRequest const& request) {
  if (!(strip.known_within <= most_uncertain(request.program_resolution)))
    return tl::unexpected(
        fmt::format("where its round is tangent above the first level is known within {:.1f} um only",
                    um * std::min(strip.known_within, 9.999)));
  std::size_t const first = stack.downwards() ? 0 : stack.levels.size() - 1;
  Level const& program_top = stack.levels[first];
  // The digit next to the tangency, one of the program's if the tangency may as well be there; where it lies
  // below it, its place on the round.
  double const tangency = strip.meridian.at(0).y;
  double z = on_digits(on_digits(tangency, request.program_resolution), request.resolution);
  if (std::abs(z - tangency) > strip.known_within) z = on_digits(tangency, request.resolution);
  double const s = strip.meridian.reach(0, std::max(0.0, tangency - z));
  double const d = strip.meridian.at(s).x;

  double const side = offsets.away < 0 ? -1 : 1;
  double const shift = side * (d - offsets.d[first]);
  std::string const trouble =
      stack.by_element
          ? by_element_trouble(offsets, program_top, d, Against(shift, request.program_resolution),
                               request.program_resolution)
          : in_plan_trouble(program_top, shift, request.program_resolution);
  if (!trouble.empty()) return tl::unexpected(trouble);

  StripLevels out;
  out.meridian = below(strip.meridian, s);
  ShapedLevel top = shape_level(stack, offsets, d, z, request.resolution);
  Vec2 const last{offsets.d[first], program_top.z};
  cutter::FinishTarget planned = request.target;
  double best = std::numeric_limits<double>::infinity();
  bool const even = stack.alternates();
  // The written levels decide, as everywhere: where the digits push a pair over the target, or leave an odd
  // number where it must be even, plan a little below it.
  for (int round = 0; round < 40; ++round) {
    cutter::LevelPlan const plan = cutter::plan_levels(out.meridian, tool, planned, request.limits);
    bool const odd = even && (plan.s.size() - 1) % 2 == 1; // without the program's own
    double got = std::numeric_limits<double>::infinity();
    if (!odd) {
      auto inner = place_levels(
          out.meridian, plan.s, stack, offsets,
          {tool, request.target, request.resolution, request.limits.max_stepdown, top.tip, last});
      std::vector<Vec2> tips = tips_between_ends({top.tip, last}, inner);
      got = cutter::measure_levels(out.meridian, tool, request.target, tips).figure_max;
      if (got < best) {
        best = got;
        out.levels.assign(1, top);
        out.levels.insert(out.levels.end(), inner.begin(), inner.end());
        out.tips = std::move(tips);
        out.target_missed = plan.target_missed;
      }
      if (plan.target_missed || best <= request.target.limit || round >= 8) break;
    }
    double const ratio = odd ? 0.97 : std::clamp(request.target.limit / got, 0.9, 0.999);
    planned.limit = std::min(planned.limit, plan.figure_max) * ratio;
  }
  if (out.levels.empty()) return tl::unexpected(std::string("no even number of levels fits above the first"));
  for (ShapedLevel const& level : out.levels)
    if (level.failed)
      return tl::unexpected(fmt::format(
          "its contours cannot be moved to Z{:.4f}: a part of them would vanish there", level.tip.y));
  return out;
}

} // namespace restep::finish
