#include "finish/curve.hpp"

#include "geometry/fit.hpp"
#include "geometry/intersect.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

namespace restep::finish {

using geometry::Vec2;

namespace {

// How far two curves are from touching (0 when tangent) and where they touch.
struct Touch {
  double gap = 0;
  Vec2 at{};
  bool possible = false;
};

Touch touch(Curve const& a, Curve const& b) {
  if (!a.is_arc && !b.is_arc) return {};
  if (a.is_arc != b.is_arc) {
    Curve const& line = a.is_arc ? b : a;
    Curve const& arc = a.is_arc ? a : b;
    Vec2 const foot = nearest_point(line, arc.point);
    return {distance(foot, arc.point) - arc.rho, foot, true};
  }
  Curve const& large = a.rho >= b.rho ? a : b;
  Curve const& small = a.rho >= b.rho ? b : a;
  double const centres = distance(large.point, small.point);
  if (centres < 1e-9) return {};
  Vec2 const at = large.point + (large.rho / centres) * (small.point - large.point);
  double const outside = centres - (large.rho + small.rho);
  double const inside = centres - (large.rho - small.rho);
  return {std::abs(outside) < std::abs(inside) ? outside : inside, at, true};
}

geometry::Circle circle_of(Curve const& arc) {
  return {arc.point, arc.rho};
}

std::vector<Vec2> intersections(Curve const& a, Curve const& b) {
  if (a.is_arc && b.is_arc) return geometry::circle_circle(circle_of(a), circle_of(b));
  if (!a.is_arc && !b.is_arc) {
    // Two lines that differ by less than a hundred thousandth meet somewhere else than between two levels.
    if (std::abs(cross(a.direction, b.direction)) < 1e-5) return {};
    auto const p = geometry::line_line(a.point, a.point + a.direction, b.point, b.point + b.direction);
    return p ? std::vector{*p} : std::vector<Vec2>{};
  }
  Curve const& line = a.is_arc ? b : a;
  return geometry::line_circle(line.point, line.point + line.direction, circle_of(a.is_arc ? a : b));
}

// The common fit's unknowns: angle and offset from the middle of its points for a line, centre and radius for
// an arc.
struct Unknowns {
  std::vector<Curve> const& start;
  std::vector<std::size_t> first;
  std::size_t count = 0;

  explicit Unknowns(std::vector<Curve> const& curves)
      : start(curves) {
    for (Curve const& c : curves) {
      first.push_back(count);
      count += c.is_arc ? 3 : c.upright ? 1 : 2;
    }
  }
  Curve curve(std::size_t i, Eigen::VectorXd const& x) const {
    Curve c = start[i];
    auto const at = static_cast<Eigen::Index>(first[i]);
    if (c.is_arc) {
      c.point = c.point + Vec2{x[at], x[at + 1]};
      c.rho += x[at + 2];
      return c;
    }
    if (c.upright) {
      c.point.x += x[at];
      return c;
    }
    double const sine = std::sin(x[at]);
    double const cosine = std::cos(x[at]);
    Vec2 const d = c.direction;
    c.point = c.point + x[at + 1] * left_normal(d);
    c.direction = {d.x * cosine - d.y * sine, d.x * sine + d.y * cosine};
    return c;
  }
};

double signed_distance(Curve const& c, Vec2 p) {
  return c.is_arc ? distance(c.point, p) - c.rho : cross(c.direction, p - c.point);
}

using Pairs = std::vector<std::pair<std::size_t, std::size_t>>;

// The common fit: distances of the points of each curve from it, and gaps of the curves that are to touch.
class CommonFit {
public:
  CommonFit(std::vector<Curve> const& curves, std::vector<std::span<Vec2 const>> const& points,
            Pairs const& tangent)
      : unknowns_(curves)
      , points_(points)
      , tangent_(tangent) {
    for (auto const& group : points) {
      row_.push_back(rows_);
      rows_ += static_cast<Eigen::Index>(group.size());
    }
  }

  auto size() const { return static_cast<Eigen::Index>(unknowns_.count); }

  std::vector<Curve> curves(Eigen::VectorXd const& x) const {
    std::vector<Curve> all;
    for (std::size_t i = 0; i < points_.size(); ++i)
      all.push_back(unknowns_.curve(i, x));
    return all;
  }

  Eigen::VectorXd residuals(Eigen::VectorXd const& x) const {
    std::vector<Curve> const all = curves(x);
    Eigen::VectorXd r(rows_ + static_cast<Eigen::Index>(tangent_.size()));
    for (std::size_t i = 0; i < points_.size(); ++i)
      r.segment(row_[i], group_size(i)) = distances(i, all[i]);
    Eigen::Index row = rows_;
    for (auto const& [a, b] : tangent_)
      r[row++] = tangency_weight * touch(all[a], all[b]).gap;
    return r;
  }

  // J^T J and J^T r with J by central differences. A curve's unknowns move its own points and its own gaps
  // alone: nothing else is asked.
  void linearise(Eigen::VectorXd const& x, Eigen::VectorXd const& r, Eigen::MatrixXd& normal,
                 Eigen::VectorXd& gradient) const {
    normal.setZero(size(), size());
    gradient.setZero(size());
    std::vector<Curve> const all = curves(x);
    Eigen::MatrixXd gaps = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(tangent_.size()), size());
    for (std::size_t i = 0; i < points_.size(); ++i) {
      Eigen::Index const from = first(i), count = first(i + 1) - from;
      Eigen::MatrixXd own(group_size(i), count);
      for (Eigen::Index j = 0; j < count; ++j) {
        Eigen::VectorXd moved = x, back = x;
        moved[from + j] += h;
        back[from + j] -= h;
        Curve const ahead = unknowns_.curve(i, moved), behind = unknowns_.curve(i, back);
        own.col(j) = (distances(i, ahead) - distances(i, behind)) / (2 * h);
        for (std::size_t k = 0; k < tangent_.size(); ++k)
          gaps(static_cast<Eigen::Index>(k), from + j) = slope(tangent_[k], i, all, ahead, behind);
      }
      normal.block(from, from, count, count).noalias() = own.transpose() * own;
      gradient.segment(from, count).noalias() = own.transpose() * r.segment(row_[i], group_size(i));
    }
    normal.noalias() += gaps.transpose() * gaps;
    gradient.noalias() += gaps.transpose() * r.tail(gaps.rows());
  }

private:
  // Heavy enough that a tangency is kept to a thousandth of what the points scatter.
  static constexpr double tangency_weight = 1000;
  static constexpr double h = 1e-7;

  Unknowns unknowns_;
  std::vector<std::span<Vec2 const>> const& points_;
  Pairs const& tangent_;
  std::vector<Eigen::Index> row_; // of each group's first point
  Eigen::Index rows_ = 0;         // of all points

  Eigen::Index group_size(std::size_t i) const { return static_cast<Eigen::Index>(points_[i].size()); }
  Eigen::Index first(std::size_t i) const {
    return static_cast<Eigen::Index>(i < points_.size() ? unknowns_.first[i] : unknowns_.count);
  }
  Eigen::VectorXd distances(std::size_t i, Curve const& curve) const {
    Eigen::VectorXd all(group_size(i));
    for (Eigen::Index k = 0; k < all.size(); ++k)
      all[k] = signed_distance(curve, points_[i][static_cast<std::size_t>(k)]);
    return all;
  }
  // Of a gap by an unknown of curve i.
  static double slope(std::pair<std::size_t, std::size_t> const& pair, std::size_t i,
                      std::vector<Curve> const& all, Curve const& ahead, Curve const& behind) {
    auto const [a, b] = pair;
    if (a != i && b != i) return 0;
    double const more = touch(a == i ? ahead : all[a], b == i ? ahead : all[b]).gap;
    double const less = touch(a == i ? behind : all[a], b == i ? behind : all[b]).gap;
    return tangency_weight * (more - less) / (2 * h);
  }
};

// Levenberg-Marquardt with a numerical Jacobian.
Eigen::VectorXd least_squares(CommonFit const& fit) {
  Eigen::VectorXd x = Eigen::VectorXd::Zero(fit.size());
  Eigen::VectorXd r = fit.residuals(x);
  Eigen::MatrixXd normal;
  Eigen::VectorXd gradient;
  double damping = 1e-6;
  bool moved = true;
  for (int round = 0; round < 60; ++round) {
    if (moved) fit.linearise(x, r, normal, gradient);
    Eigen::MatrixXd damped = normal;
    damped.diagonal() += damping * (normal.diagonal().array() + 1e-12).matrix();
    Eigen::VectorXd const step = damped.ldlt().solve(-gradient);
    Eigen::VectorXd const next = fit.residuals(x + step);
    moved = next.squaredNorm() < r.squaredNorm();
    if (moved) {
      x += step;
      r = next;
      damping = std::max(damping * 0.2, 1e-12);
      if (step.norm() < 1e-11) break;
    } else {
      if (step.norm() < 1e-11) break;
      damping *= 8;
      if (damping > 1e8) break;
    }
  }
  return x;
}

} // namespace

Curve fit_line(std::span<Vec2 const> points) {
  auto const fit = geometry::fit_line(points);
  // Levels differ in height, so that there always is a line; a single spread in all directions is not one.
  if (!fit) return fit_wall(points);
  return {false, fit->through, fit->direction, 0, false};
}

Curve fit_wall(std::span<Vec2 const> points) {
  Vec2 mean{};
  for (Vec2 const p : points)
    mean = mean + p / static_cast<double>(points.size());
  return {false, mean, {0, -1}, 0, true};
}

std::optional<Curve> fit_arc(std::span<Vec2 const> points) {
  auto const fit = geometry::fit_circle(points);
  if (!fit) return std::nullopt;
  return Curve{true, fit->circle.centre, {}, fit->circle.radius, false};
}

double distance_to(Curve const& curve, Vec2 p) {
  return std::abs(signed_distance(curve, p));
}

Vec2 nearest_point(Curve const& curve, Vec2 p) {
  if (curve.is_arc) return curve.point + curve.rho * normalized(p - curve.point);
  return curve.point + dot(p - curve.point, curve.direction) * curve.direction;
}

double largest_distance(Curve const& curve, std::span<Vec2 const> points) {
  double worst = 0;
  for (Vec2 const p : points)
    worst = std::max(worst, distance_to(curve, p));
  return worst;
}

double sum_of_squares(Curve const& curve, std::span<Vec2 const> points) {
  double sum = 0;
  for (Vec2 const p : points)
    sum += signed_distance(curve, p) * signed_distance(curve, p);
  return sum;
}

std::optional<Vec2> meeting_point(Curve const& a, Curve const& b, Vec2 near, double tolerance) {
  Touch const t = touch(a, b);
  if (t.possible && std::abs(t.gap) <= tolerance) return t.at;
  std::optional<Vec2> best;
  for (Vec2 const p : intersections(a, b))
    if (!best || distance(p, near) < distance(*best, near)) best = p;
  return best;
}

bool nearly_tangent(Curve const& a, Curve const& b, Vec2 near, double spacing, double tolerance) {
  Touch const t = touch(a, b);
  return t.possible && std::abs(t.gap) <= 6 * tolerance &&
         distance(t.at, near) <= 2 * spacing + 4 * tolerance;
}

void fit_together(std::vector<Curve>& curves, std::vector<std::span<Vec2 const>> const& points,
                  Pairs const& tangent, double tolerance) {
  Pairs accepted;
  for (auto const& pair : tangent) {
    Pairs attempt = accepted;
    attempt.push_back(pair);
    CommonFit const fit(curves, points, attempt);
    std::vector<Curve> fitted = fit.curves(least_squares(fit));
    bool explained = true;
    for (std::size_t i = 0; i < curves.size(); ++i) {
      explained = explained && largest_distance(fitted[i], points[i]) <= tolerance &&
                  (!fitted[i].is_arc || fitted[i].rho > 0);
    }
    if (!explained) continue;
    curves = std::move(fitted);
    accepted = std::move(attempt);
  }
}

} // namespace restep::finish
