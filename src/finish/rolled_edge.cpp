#include "finish/rolled_edge.hpp"

#include "finish/curve.hpp"
#include "geometry/intersect.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

using cutter::Piece;
using geometry::Vec2;

constexpr double least_turn = 0.02; // sine; less is no edge but what digits do to one line

// The lines before and behind the edge, cut back to the arc about it, and the arc.
struct Rolled {
  Piece above, edge, below;
};

std::optional<Rolled> rolled(Piece above, Piece below, double r) {
  if (above.shape != Piece::Shape::line || below.shape != Piece::Shape::line) return std::nullopt;
  Vec2 const t1 = normalized(above.to - above.from);
  Vec2 const t2 = normalized(below.to - below.from);
  double const sine = -cross(t1, t2);
  if (!(sine > least_turn)) return std::nullopt;
  auto const corner = geometry::line_line(above.from, above.to, below.from, below.to);
  if (!corner) return std::nullopt;
  double const cut = r * sine / (1 + dot(t1, t2)); // r tan(phi / 2)
  Rolled out;
  out.edge.shape = Piece::Shape::arc;
  out.edge.rho = r;
  out.edge.from = *corner - cut * t1;
  out.edge.to = *corner + cut * t2;
  out.edge.centre = out.edge.from - r * left_normal(t1);
  if (dot(t1, out.edge.from - above.from) <= 0 || dot(t2, below.to - out.edge.to) <= 0) return std::nullopt;
  above.to = out.edge.from;
  below.from = out.edge.to;
  out.above = above;
  out.below = below;
  return out;
}

// How far the levels lie off three pieces at most.
double farthest(Rolled const& pieces, std::vector<Vec2> const& levels, std::size_t first, std::size_t last) {
  cutter::Meridian const course({pieces.above, pieces.edge, pieces.below});
  double worst = 0;
  for (std::size_t k = first; k <= last; ++k)
    worst = std::max(worst, std::abs(course.signed_distance(levels[k])));
  return worst;
}

class EdgeRolling {
public:
  EdgeRolling(std::vector<Vec2> const& levels, double corner_radius, double tolerance)
      : levels_(levels)
      , r_(corner_radius)
      , tolerance_(tolerance) {}

  // Between two neighbouring pieces, or over one that an edge's levels were taken for.
  void within(MeridianFit& fit) {
    for (MeridianSection& section : fit.sections) {
      std::vector<Piece> pieces = section.meridian.pieces();
      for (std::size_t i = 0; i + 1 < pieces.size(); ++i)
        for (std::size_t const j : {i + 1, i + 2}) {
          if (j >= pieces.size()) break;
          auto const rolled = edge_between(fit, pieces[i], pieces[j], section.first, section.last);
          if (!rolled) continue;
          auto const at = pieces.begin() + static_cast<std::ptrdiff_t>(i);
          pieces.erase(at, at + static_cast<std::ptrdiff_t>(j - i) + 1);
          pieces.insert(pieces.begin() + static_cast<std::ptrdiff_t>(i),
                        {rolled->above, rolled->edge, rolled->below});
          i += 1;
          break;
        }
      section.meridian = cutter::Meridian(std::move(pieces));
    }
  }

  // Over levels that stand alone, or none.
  void between(MeridianFit& fit) {
    std::vector<MeridianSection> out;
    std::size_t alone = 0; // at the end of `out`
    for (MeridianSection& section : fit.sections) {
      bool const single = section.meridian.pieces().empty();
      if (!single && out.size() > alone) join(fit, out, alone, section);
      alone = single ? alone + 1 : 0;
      out.push_back(std::move(section));
    }
    fit.sections = std::move(out);
  }

private:
  // Joins the section with the one before those that stand alone, where an edge between them explains these.
  void join(MeridianFit& fit, std::vector<MeridianSection>& out, std::size_t alone, MeridianSection& below) {
    MeridianSection const& above = out[out.size() - 1 - alone];
    if (above.meridian.pieces().empty()) return;
    std::vector<Piece> pieces = above.meridian.pieces();
    std::vector<Piece> const& behind = below.meridian.pieces();
    auto const rolled = edge_between(fit, pieces.back(), behind.front(), above.first, below.last);
    if (!rolled) return;
    pieces.back() = rolled->above;
    pieces.push_back(rolled->edge);
    pieces.push_back(rolled->below);
    pieces.insert(pieces.end(), behind.begin() + 1, behind.end());
    below = {above.first, below.last, cutter::Meridian(std::move(pieces))};
    out.resize(out.size() - 1 - alone);
  }

  // A piece that is a line, or that a line explains as well but for its levels next to `joint`: one of them
  // on the arc about an edge bends a line into a wide arc.
  std::optional<Piece> as_line(Piece const& piece, Vec2 joint) const {
    if (piece.shape == Piece::Shape::line) return piece;
    std::vector<Vec2> own;
    for (Vec2 const& p : levels_)
      if (p.y <= piece.from.y && p.y >= piece.to.y && distance(p, joint) > r_) own.push_back(p);
    if (own.size() < 3) return std::nullopt;
    Curve const wall = fit_wall(own);
    Curve const line = largest_distance(wall, own) <= tolerance_ ? wall : finish::fit_line(own);
    if (largest_distance(line, own) > tolerance_) return std::nullopt;
    Piece straight;
    straight.from = nearest_point(line, piece.from);
    straight.to = nearest_point(line, piece.to);
    return straight;
  }

  // The edge between two pieces of a section, or of two that only levels first ... last explain.
  std::optional<Rolled> edge_between(MeridianFit& fit, Piece const& above, Piece const& below,
                                     std::size_t first, std::size_t last) {
    auto const upper = as_line(above, above.to);
    auto const lower = as_line(below, below.from);
    if (!upper || !lower) return std::nullopt;
    auto const edge = rolled(*upper, *lower, r_);
    if (!edge) return std::nullopt;
    while (first < last && levels_[first].y > above.from.y)
      ++first;
    while (last > first && levels_[last].y < below.to.y)
      --last;
    double const off = farthest(*edge, levels_, first, last);
    if (off > tolerance_) return std::nullopt;
    fit.residual = std::max(fit.residual, off);
    return edge;
  }

  std::vector<Vec2> const& levels_;
  double r_, tolerance_;
};

} // namespace

void roll_over_edges(MeridianFit& fit, std::vector<Vec2> const& levels, double corner_radius,
                     double tolerance) {
  if (!(corner_radius > 0)) return; // a flat tool turns at once
  EdgeRolling rolling(levels, corner_radius, tolerance);
  rolling.within(fit);
  rolling.between(fit);
}

cutter::LevelPlan plan_between_edges(cutter::Meridian const& meridian, cutter::Tool const& tool,
                                     cutter::FinishTarget const& target, cutter::StepLimits const& limits) {
  auto const rolls = [&](Piece const& p) {
    constexpr double same = 1e-9; // mm
    return p.shape == Piece::Shape::arc && p.convex && std::abs(p.rho - tool.corner_radius) < same;
  };
  cutter::LevelPlan whole;
  whole.s = {0};
  whole.figure_min = std::numeric_limits<double>::infinity();
  std::vector<Piece> part;
  auto const plan_part = [&] {
    if (part.empty()) return;
    cutter::Meridian const course(std::exchange(part, {}));
    cutter::LevelPlan const plan = cutter::plan_levels(course, tool, target, limits);
    double const begin = whole.s.back();
    for (std::size_t k = 1; k < plan.s.size(); ++k)
      whole.s.push_back(begin + plan.s[k]);
    whole.figure_max = std::max(whole.figure_max, plan.figure_max);
    if (plan.figure_min > 0) whole.figure_min = std::min(whole.figure_min, plan.figure_min);
    whole.limited += plan.limited;
    whole.target_missed = whole.target_missed || plan.target_missed;
  };
  for (Piece const& piece : meridian.pieces()) {
    bool const edge = rolls(piece);
    if (edge) plan_part();
    part.push_back(piece);
    if (edge) plan_part();
  }
  plan_part();
  if (!std::isfinite(whole.figure_min)) whole.figure_min = whole.figure_max;
  return whole;
}

} // namespace restep::finish
