#include "finish/raster_lines.hpp"

#include "finish/raster_link.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

using motion::Step;

// A link is not bent in pieces that could be taken for the end of its line; they cut a thousandth of a
// micrometre.
constexpr double shortest_bent = 0.05;
// Points of a new line that are closer together than this are one.
constexpr double nearest_points = 1e-3;

class LineWriter {
public:
  LineWriter(std::span<Step const> operation, RasterPass const& pass, RasterSurface const& surface,
             RasterOrder order, double resolution)
      : operation_(operation)
      , pass_(pass)
      , surface_(surface)
      , order_(order)
      , resolution_(resolution)
      , tolerance_(2 * pass.tolerance + 2 * resolution)
      , next_{Links(pass.frame, tolerance_), Links(pass.frame, tolerance_)} {
    learn_links();
  }

  // Row k of the program; behind row `before` of the program its own link.
  std::string own(std::size_t k, std::optional<std::size_t> before) {
    RasterLine const& line = line_of(k);
    if (before) {
      append(line_of(*before).pieces.back().last_step() + 1, line.pieces.front().first_step() - 1);
    } else if (!out_.empty()) {
      if (std::string trouble = link(next_, line.pieces.front().points.front()); !trouble.empty())
        return trouble;
    }
    append(line.pieces.front().first_step(), line.pieces.back().last_step());
    arrive(line.pieces.back().points);
    return {};
  }

  std::string fresh(NewLine const& line, bool backwards) {
    std::size_t const pieces = line.trusted.size();
    for (std::size_t i = 0; i < pieces; ++i) {
      std::size_t const p = backwards ? pieces - 1 - i : i;
      std::vector<Point> points = points_of(line, p);
      if (points.size() < 2) return "a new line would have no length";
      thin(points);
      if (backwards) std::reverse(points.begin(), points.end());
      ByDirection& links = i == 0 ? next_ : within(pieces, i);
      if (std::string trouble = link(links, points.front().at); !trouble.empty()) return trouble;
      for (std::size_t j = 1; j < points.size(); ++j)
        cut(points[j - 1], points[j]);
      at_ = points.back().at;
      backwards_ = backwards;
    }
    return {};
  }

  std::vector<Step> take() { return std::move(out_); }

private:
  using Links = LineLinks;
  // By the direction of the line that the link comes from: where it alternates there are two kinds, one at
  // either end of the lines.
  using ByDirection = std::array<Links, 2>;
  struct Point {
    Vec3 at{};
    double z = 0;           // before it was rounded
    std::uint32_t step = 0; // that cuts the stretch here
  };

  RasterLine const& line_of(std::size_t k) const {
    return pass_.lines[order_.falling ? pass_.lines.size() - 1 - k : k];
  }

  bool runs_backwards(std::vector<Vec3> const& points) const {
    return dot(geometry::xy(points.back()) - geometry::xy(points.front()), pass_.frame.u) < 0;
  }

  // Links from piece i - 1 to piece i of lines with so many pieces.
  ByDirection& within(std::size_t pieces, std::size_t i) {
    return within_
        .try_emplace({pieces, i}, ByDirection{Links(pass_.frame, tolerance_), Links(pass_.frame, tolerance_)})
        .first->second;
  }

  void learn_links() {
    RasterPiece const* before = nullptr;
    for (RasterLine const& line : pass_.lines)
      for (std::size_t i = 0; i < line.pieces.size(); ++i) {
        RasterPiece const& piece = line.pieces[i];
        if (before != nullptr) {
          LineLink sample{{before->points.back(), piece.points.front()}, {}};
          for (std::size_t s = before->last_step() + 1; s < piece.first_step(); ++s)
            if (motion::motion_of(operation_[s]) != nullptr) sample.steps.push_back(operation_[s]);
          ByDirection& links = i == 0 ? next_ : within(line.pieces.size(), i);
          if (!sample.steps.empty()) links[runs_backwards(before->points) ? 1 : 0].add(std::move(sample));
        }
        before = &piece;
      }
  }

  std::string link(ByDirection& links, Vec3 const& next) {
    auto steps = links[backwards_ ? 1 : 0].make({at_, next}, resolution_);
    if (!steps) return steps.error();
    for (Step const& step : *steps) {
      motion::Motion const& m = *motion::motion_of(step);
      if (m.path == motion::PathKind::line)
        over_surface(step, m.from, m.to, 0);
      else
        out_.push_back(step);
    }
    return {};
  }

  // A straight move that would cut into the surface between its ends is bent over it.
  void over_surface(Step const& step, Vec3 const& from, Vec3 const& to, int depth) {
    Vec3 middle = 0.5 * (from + to);
    middle = {rounded(middle.x), rounded(middle.y), middle.z};
    bool const apart = distance(geometry::xy(from), geometry::xy(to)) > shortest_bent;
    auto const surface = apart && depth < 6 ? height_over(geometry::xy(middle)) : std::nullopt;
    if (surface && *surface > middle.z + resolution_ / 2) {
      middle.z = rounded(*surface + resolution_ / 4);
      over_surface(step, from, middle, depth + 1);
      over_surface(step, middle, to, depth + 1);
      return;
    }
    out_.push_back(step);
    motion::Motion& m = *motion::motion_of(out_.back());
    m.from = from;
    m.to = to;
  }

  // Height of the tip's surface at a place in plan, where the lines tell it.
  std::optional<double> height_over(Vec2 plan) const {
    auto const& rows = surface_.rows();
    Vec2 const own = pass_.frame.own(plan);
    if (own.y < rows.front().v || own.y > rows.back().v) return std::nullopt;
    auto const above = std::upper_bound(rows.begin(), rows.end(), own.y,
                                        [](double v, RasterRow const& row) { return v < row.v; });
    std::size_t const k = std::min(static_cast<std::size_t>(above - rows.begin()), rows.size() - 1) - 1;
    if (!surface_.matched(k)) return std::nullopt;
    for (std::size_t p = 0; p < rows[k].pieces.size(); ++p) {
      Vec2 const range = surface_.range(k, p, own.y);
      if (own.x >= range.x - tolerance_ && own.x <= range.y + tolerance_)
        return surface_.at(k, p, std::clamp(own.x, range.x, range.y), own.y);
    }
    return std::nullopt;
  }

  double rounded(double value) const { return std::round(value / resolution_) * resolution_; }

  // The points of a new line on one piece, in rising u: those of the nearer row, where the line reaches, and
  // its two ends.
  std::vector<Point> points_of(NewLine const& line, std::size_t p) const {
    auto const& rows = surface_.rows();
    RasterRow const& low = rows[line.strip];
    RasterRow const& high = rows[line.strip + 1];
    Vec2 range = surface_.range(line.strip, p, line.v);
    range = {std::max(range.x, line.trusted[p].x), std::min(range.y, line.trusted[p].y)};
    bool const lower_is_near = line.v - low.v <= high.v - line.v;
    RasterCourse const& near = (lower_is_near ? low : high).pieces[p];
    RasterCourse const& far = (lower_is_near ? high : low).pieces[p];
    std::vector<double> places;
    auto const gather = [&](RasterCourse const& course, double from, double to) {
      for (Vec2 const q : course.points())
        if (q.x > from && q.x < to) places.push_back(q.x);
    };
    if (range.x < near.begin()) gather(far, range.x, near.begin());
    gather(near, range.x, range.y);
    if (range.y > near.end()) gather(far, near.end(), range.y);
    places.insert(places.begin(), range.x);
    places.push_back(range.y);
    std::vector<Point> points;
    double last = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      bool const at_end = i + 1 == places.size();
      if (i > 0 && places[i] - last < std::max(nearest_points, resolution_)) {
        if (!at_end) continue;
        points.pop_back(); // the end itself matters more
      }
      last = places[i];
      Vec2 plan = pass_.frame.plan({places[i], line.v});
      plan = {rounded(plan.x), rounded(plan.y)};
      Vec2 const own = pass_.frame.own(plan);
      // A digit beyond the end of the rows is still told by them.
      double const u = std::clamp(own.x, line.trusted[p].x, line.trusted[p].y);
      std::optional<double> const z = surface_.at(line.strip, p, u, own.y);
      if (!z) return {};
      points.push_back({geometry::at_height(plan, rounded(*z)), *z, near.step_at(places[i])});
    }
    return points;
  }

  // Leaves out points that the straight line between others says within a third of a digit: those of arcs,
  // which stand closer than any control needs.
  void thin(std::vector<Point>& points) const {
    std::vector<Point> left{points.front()};
    std::size_t from = 0;
    for (std::size_t to = 2; to <= points.size(); ++to) {
      bool straight = to < points.size();
      for (std::size_t i = from + 1; straight && i < to; ++i) {
        Vec2 const way = geometry::xy(points[to].at) - geometry::xy(points[from].at);
        double const share =
            dot(geometry::xy(points[i].at) - geometry::xy(points[from].at), way) / dot(way, way);
        double const z = points[from].z + share * (points[to].z - points[from].z);
        straight = std::abs(points[i].z - z) <= resolution_ / 3;
      }
      if (straight) continue;
      from = to - 1;
      left.push_back(points[from]);
    }
    points = std::move(left);
  }

  void cut(Point const& from, Point const& to) {
    if (from.at == to.at) return;
    Step step = operation_[to.step];
    motion::Motion& m = *motion::motion_of(step);
    m.path = motion::PathKind::line;
    m.from = from.at;
    m.to = to.at;
    step.generated = true;
    step.touched = true;
    out_.push_back(step);
  }
  void append(std::size_t first, std::size_t last) {
    for (std::size_t i = first; i <= last; ++i)
      out_.push_back(operation_[i]);
  }
  void arrive(std::vector<Vec3> const& points) {
    at_ = points.back();
    backwards_ = runs_backwards(points);
  }

  std::span<Step const> operation_;
  RasterPass const& pass_;
  RasterSurface const& surface_;
  RasterOrder order_;
  double resolution_;
  double tolerance_;
  ByDirection next_;
  std::map<std::pair<std::size_t, std::size_t>, ByDirection> within_;
  Vec3 at_{};
  bool backwards_ = false;
  std::vector<Step> out_;
};

} // namespace

tl::expected<std::vector<Step>, std::string>
assemble_lines(std::span<Step const> operation, RasterPass const& pass, RasterSurface const& surface,
               std::vector<PlannedLine> const& lines, RasterOrder order, double resolution) {
  LineWriter writer(operation, pass, surface, order, resolution);
  std::optional<std::size_t> previous_own;
  bool backwards = false;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    PlannedLine const& line = lines[order.falling ? lines.size() - 1 - i : i];
    std::string trouble;
    if (std::size_t const* k = std::get_if<std::size_t>(&line)) {
      bool const follows =
          previous_own && (*k > *previous_own ? *k - *previous_own : *previous_own - *k) == 1;
      trouble = writer.own(*k, follows ? previous_own : std::nullopt);
      previous_own = *k;
      backwards = surface.rows()[*k].pieces.front().backwards();
    } else {
      if (order.alternating) backwards = !backwards;
      trouble = writer.fresh(std::get<NewLine>(line), backwards);
      previous_own.reset();
    }
    if (!trouble.empty()) return tl::unexpected(std::move(trouble));
  }
  return writer.take();
}

} // namespace restep::finish
