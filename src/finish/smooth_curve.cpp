#include "finish/smooth_curve.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

namespace restep::finish {

namespace {

using cutter::Piece;
using geometry::Vec2;

// Values of the four cubic B-splines that are not 0 on a span, and their derivatives by the span's share.
struct Basis {
  std::array<double, 4> value{}, slope{};
};
Basis basis(double t) {
  double const u = 1 - t;
  return {{u * u * u / 6, (3 * t * t * t - 6 * t * t + 4) / 6, (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6,
           t * t * t / 6},
          {-u * u / 2, (9 * t * t - 12 * t) / 6, (-9 * t * t + 6 * t + 3) / 6, t * t / 2}};
}

class Spline {
public:
  Spline(std::vector<Vec2> const& points, std::size_t spans)
      : spans_(spans) {
    std::vector<double> lengths{0};
    for (std::size_t k = 1; k < points.size(); ++k)
      lengths.push_back(lengths.back() + distance(points[k - 1], points[k]));
    auto const rows = static_cast<Eigen::Index>(points.size());
    auto const columns = static_cast<Eigen::Index>(spans + 3);
    Eigen::MatrixXd a = Eigen::MatrixXd::Zero(rows, columns);
    Eigen::MatrixXd b(rows, 2);
    for (Eigen::Index k = 0; k < rows; ++k) {
      auto const i = static_cast<std::size_t>(k);
      auto const [span, t] = place(lengths[i] / lengths.back() * static_cast<double>(spans));
      Basis const at = basis(t);
      for (std::size_t j = 0; j < 4; ++j)
        a(k, static_cast<Eigen::Index>(span + j)) = at.value[j];
      b(k, 0) = points[i].x;
      b(k, 1) = points[i].y;
    }
    coefficients_ = a.householderQr().solve(b);
  }

  Vec2 at(double x) const { return combined(x, false); }
  Vec2 direction(double x) const { return normalized(combined(x, true)); }

private:
  std::pair<std::size_t, double> place(double x) const {
    auto const span = std::min(static_cast<std::size_t>(std::max(x, 0.0)), spans_ - 1);
    return {span, x - static_cast<double>(span)};
  }
  Vec2 combined(double x, bool slope) const {
    auto const [span, t] = place(x);
    Basis const b = basis(t);
    Vec2 sum{};
    for (std::size_t j = 0; j < 4; ++j) {
      auto const row = static_cast<Eigen::Index>(span + j);
      sum = sum + (slope ? b.slope[j] : b.value[j]) * Vec2{coefficients_(row, 0), coefficients_(row, 1)};
    }
    return sum;
  }

  std::size_t spans_;
  Eigen::MatrixXd coefficients_;
};

Vec2 end_direction(Piece const& piece, Vec2 start) {
  Vec2 const chord = piece.to - piece.from;
  double const turn = 2 * std::atan2(cross(start, chord), dot(start, chord));
  return {std::cos(turn) * start.x - std::sin(turn) * start.y,
          std::sin(turn) * start.x + std::cos(turn) * start.y};
}

// Two arcs with equal arms d from p0 in the direction t0 to p1 in the direction t1:
// 2 (1 - t0.t1) d^2 + 2 d v.(t0 + t1) - v.v = 0, v = p1 - p0.
void add_biarc(std::vector<Piece>& pieces, Vec2 p0, Vec2 t0, Vec2 p1, Vec2 t1) {
  Vec2 const v = p1 - p0;
  double const a = 2 * std::max(0.0, 1 - dot(t0, t1));
  double const b = dot(v, t0 + t1);
  double const d = dot(v, v) / (b + std::sqrt(b * b + a * dot(v, v)));
  Vec2 const middle = 0.5 * (p0 + p1 + d * (t0 - t1));
  pieces.push_back(tangent_arc(p0, t0, middle));
  pieces.push_back(tangent_arc(middle, end_direction(pieces.back(), t0), p1));
}

cutter::Meridian arcs_of(Spline const& spline, std::size_t spans) {
  constexpr std::size_t parts = 2; // of a span
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < parts * spans; ++i) {
    double const from = static_cast<double>(i) / parts;
    double const to = static_cast<double>(i + 1) / parts;
    Vec2 const begin = pieces.empty() ? spline.at(from) : pieces.back().to;
    add_biarc(pieces, begin, spline.direction(from), spline.at(to), spline.direction(to));
  }
  return cutter::Meridian(std::move(pieces));
}

} // namespace

Piece tangent_arc(Vec2 from, Vec2 direction, Vec2 to) {
  constexpr double flat = 1e-7; // radians
  Vec2 const chord = to - from;
  double const half = std::atan2(cross(direction, chord), dot(direction, chord));
  Piece piece;
  piece.from = from;
  piece.to = to;
  if (std::abs(half) < flat) return piece;
  piece.shape = Piece::Shape::arc;
  piece.rho = length(chord) / (2 * std::sin(std::abs(half)));
  piece.convex = half < 0; // turns towards the material
  piece.centre = from + std::copysign(piece.rho, half) * left_normal(direction);
  return piece;
}

std::optional<cutter::Meridian> smooth_curve(std::vector<Vec2> const& points, double tolerance) {
  for (std::size_t spans = 1; 5 * (spans + 3) <= 2 * points.size(); spans += 1 + spans / 4) {
    cutter::Meridian curve = arcs_of(Spline(points, spans), spans);
    bool const explained = std::all_of(points.begin(), points.end(), [&](Vec2 p) {
      return std::abs(curve.signed_distance(p)) <= tolerance;
    });
    if (!explained) continue;
    bool const falls = std::all_of(curve.pieces().begin(), curve.pieces().end(), [&](Piece const& p) {
      return p.to.y < p.from.y && p.to.x >= p.from.x - tolerance;
    });
    if (falls) return curve;
  }
  return std::nullopt;
}

} // namespace restep::finish
