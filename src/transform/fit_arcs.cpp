// Makes arcs of chords.
//
//   in   G1 X9.986 Y0.523 | X9.945 Y1.045 | X9.877 Y1.564 | ... | X0 Y10
//   out  G3 X0 Y10 I-10 J0
//
// Within one run of lines (see RunStage) the stage takes from each line on the longest stretch for which one
// arc of the active plane serves (geometry/arc_tube), then makes one arc of neighbours that are one. Every
// arc is measured against the program's own lines, both ways, on the very centre that will be written, before
// it is taken; a stretch that rises or falls becomes a helix if it does so evenly. What bends by less than
// the tolerance is a line and stays as it is, and no arc makes a corner: at its ends the path turns by hardly
// more than the lines did there, or by `joint`.

#include "transform/fit_arcs.hpp"

#include "geometry/arc_tube.hpp"
#include "geometry/fit.hpp"
#include "motion/arc.hpp"
#include "proof/deviation.hpp"
#include "transform/run_stage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::transform {

namespace {

using geometry::Vec2;
using motion::Motion;
using motion::PathKind;
using motion::Step;
using motion::Vec3;

/// The turn at an arc's end that is none, radians.
constexpr double joint = geometry::radians(1);
constexpr double tangent_slack = geometry::radians(0.1);
/// A corner: chords of an arc do not turn by so much.
constexpr double sharp_turn = geometry::radians(30);
/// Three points lie on a circle always; so few chords prove no arc.
constexpr std::size_t fewest_chords = 3;
/// Of one arc: the chords of more than this may wind up.
constexpr double most_sweep = geometry::radians(160);
/// Of arcs that were joined but do not close: the digits of one that all but closes may close it.
constexpr double most_open_sweep = geometry::radians(350);
constexpr double largest_radius = 2000; // mm; larger ones are beyond some controls, and hardly bend
constexpr double smallest_radius = 20;  // last digits; smaller ones are shaped by the digits
constexpr int shorter_tries = 8;

/// Lines first to end - 1 of a run, and the arc that stands for them, if one does.
struct Piece {
  std::size_t first = 0, end = 0;
  std::optional<Motion> arc;
  double apart = 0; ///< mm
};

class FitArcs final : public RunStage {
public:
  FitArcs(motion::StepSource& upstream, Context& context)
      : RunStage(upstream, context, "fit-arcs", "arcs") {}

private:
  std::vector<Motion> lines_;
  std::vector<Vec2> points_;   ///< the lines' ends in the plane, one more than lines
  std::vector<double> turned_; ///< by the path from the run's start to each line, radians, signed
  std::vector<double> walked_; ///< in the plane, to each point, mm
  std::vector<Piece> pieces_;
  motion::Plane plane_ = motion::Plane::xy;
  /// The lines that are looked at: those of a run, or those left between two of its arcs.
  std::size_t first_ = 0, end_ = 0;
  Ends ends_;

  geometry::ArcLimits limits() const { return {tolerance(), smallest_radius * arc_digit(), largest_radius}; }

  void reshape(std::span<Step const> run, Ends const& ends) override {
    plane_ = run.front().modes.plane;
    if (run.size() < fewest_chords || !control_can(run.front())) return keep(run);
    load(run);
    pieces_ = fit(0, run.size(), ends);
    while (fit_between(ends)) {
    }
    for (Piece const& piece : pieces_) {
      std::span<Step const> const part = run.subspan(piece.first, piece.end - piece.first);
      if (piece.arc)
        replace(part, *piece.arc, piece.apart, called(*piece.arc));
      else
        keep(part);
    }
  }

  std::vector<Piece> fit(std::size_t first, std::size_t end, Ends const& ends) {
    std::vector<Piece> outer;
    outer.swap(pieces_);
    first_ = first;
    end_ = end;
    ends_ = ends;
    std::vector<std::size_t> const stretches = stretch_ends({lines_.data() + first, end - first}, sharp_turn);
    for (std::size_t i = first; i < end; i = first + stretches[i - first])
      find_arcs(i, first + stretches[i - first]);
    join_arcs();
    outer.swap(pieces_);
    return outer;
  }

  /// Looks at the lines between arcs once more: what an arc makes of the path may let another one join on.
  /// True when it found one. Doing it until it finds none makes a second run of the stage change nothing.
  bool fit_between(Ends const& run_ends) {
    std::vector<Piece> const pieces = std::move(pieces_);
    pieces_.clear();
    auto const is_arc = [](Piece const& piece) { return piece.arc.has_value(); };
    bool const any = std::any_of(pieces.begin(), pieces.end(), is_arc);
    bool found = false;
    for (auto at = pieces.begin(); at != pieces.end();) {
      auto const next = std::find_if(at, pieces.end(), is_arc);
      if (any && next != at) {
        Ends const ends{at == pieces.begin() ? run_ends.before : end_of(*(at - 1)),
                        next == pieces.end() ? run_ends.after : begin_of(*next)};
        std::vector<Piece> const inner = fit(at->first, (next - 1)->end, ends);
        found = found || std::any_of(inner.begin(), inner.end(), is_arc);
        pieces_.insert(pieces_.end(), inner.begin(), inner.end());
      } else {
        pieces_.insert(pieces_.end(), at, next);
      }
      at = next;
      if (at != pieces.end()) pieces_.push_back(*at++);
    }
    if (!found) return false;
    first_ = 0;
    end_ = lines_.size();
    ends_ = run_ends;
    join_arcs();
    return true;
  }

  bool control_can(Step const& step) const {
    Motion const& m = *motion::motion_of(step);
    int const normal = motion::axes_of(plane_).normal;
    return abilities().arcs[static_cast<std::size_t>(plane_)] &&
           (m.from[normal] == m.to[normal] || abilities().helical_arcs);
  }

  static std::string called(Motion const& arc) {
    int const normal = motion::axes_of(arc.plane).normal;
    return fmt::format("{} of radius {:.4f} mm", arc.from[normal] == arc.to[normal] ? "arc" : "helix",
                       motion::radius(arc));
  }

  void load(std::span<Step const> run) {
    motion::PlaneAxes const axes = motion::axes_of(plane_);
    lines_ = motions_of(run);
    points_.assign(1, {lines_.front().from[axes.first], lines_.front().from[axes.second]});
    walked_.assign(1, 0);
    turned_.assign(1, 0);
    for (Motion const& line : lines_) {
      points_.push_back({line.to[axes.first], line.to[axes.second]});
      std::size_t const n = points_.size();
      walked_.push_back(walked_.back() + geometry::distance(points_[n - 2], points_[n - 1]));
      if (n < 3) continue;
      Vec2 const a = points_[n - 2] - points_[n - 3], b = points_[n - 1] - points_[n - 2];
      turned_.push_back(turned_.back() + std::atan2(cross(a, b), dot(a, b)));
    }
  }

  // ---- one arc -------------------------------------------------------------------------------------------

  std::span<Vec2 const> points(std::size_t first, std::size_t end) const {
    return {points_.data() + first, end + 1 - first};
  }

  /// Quick and in the plane: an arc could stand for these lines, and they rise evenly.
  bool may_be_arc(std::size_t first, std::size_t end) const {
    return std::abs(turned_[end - 1] - turned_[first]) <= most_sweep && rises_evenly(first, end) &&
           geometry::arc_within(points(first, end), limits());
  }

  bool rises_evenly(std::size_t first, std::size_t end) const {
    int const normal = motion::axes_of(plane_).normal;
    double const from = lines_[first].from[normal], to = lines_[end - 1].to[normal];
    if (from == to) return true;
    double const way = walked_[end] - walked_[first];
    if (!(way > 0)) return false;
    for (std::size_t i = first + 1; i < end; ++i) {
      double const expected = from + (to - from) * (walked_[i] - walked_[first]) / way;
      if (std::abs(lines_[i].from[normal] - expected) > tolerance()) return false;
    }
    return true;
  }

  /// The arc as it will be written, its centre on the digits, or nothing when it leaves the lines by more
  /// than the tolerance.
  std::optional<Piece> measured(std::size_t first, std::size_t end, Vec2 centre, bool ccw) const {
    motion::PlaneAxes const axes = motion::axes_of(plane_);
    Vec2 const from = points_[first], to = points_[end];
    Vec2 const arm = (centre - from) / arc_digit();
    double best = std::numeric_limits<double>::infinity();
    for (double const x : {std::floor(arm.x), std::ceil(arm.x)}) {
      for (double const y : {std::floor(arm.y), std::ceil(arm.y)}) {
        Vec2 const tried = from + arc_digit() * Vec2{x, y};
        double const apart = std::abs(geometry::distance(tried, from) - geometry::distance(tried, to)) +
                             1e-3 * geometry::distance(tried, from + arc_digit() * arm);
        if (apart >= best) continue;
        best = apart;
        centre = tried;
      }
    }
    Motion arc = lines_[first];
    arc.path = ccw ? PathKind::arc_ccw : PathKind::arc_cw;
    arc.plane = plane_;
    arc.to = lines_[end - 1].to;
    arc.centre = arc.from;
    arc.centre[axes.first] = centre.x;
    arc.centre[axes.second] = centre.y;
    double const r = motion::radius(arc);
    if (r < limits().smallest_radius || r > largest_radius) return std::nullopt;
    double const apart = proof::deviation({lines_.data() + first, end - first}, arc);
    if (!(apart <= tolerance())) return std::nullopt;
    return Piece{first, end, arc, apart};
  }

  /// Bends by no more than the tolerance over its whole length.
  bool is_line(std::size_t first, std::size_t end) const {
    Vec2 const along = geometry::normalized(points_[end] - points_[first]);
    return std::all_of(points_.begin() + static_cast<std::ptrdiff_t>(first),
                       points_.begin() + static_cast<std::ptrdiff_t>(end), [&](Vec2 point) {
                         return std::abs(cross(along, point - points_[first])) <= tolerance();
                       });
  }

  // ---- its ends ------------------------------------------------------------------------------------------

  Vec3 line_direction(std::size_t line) const { return motion::direction_at(lines_[line], 0); }

  /// As good as no turn, or one that the lines made here as well: within `tangent_slack` of theirs where the
  /// path is smooth, within `joint` at a corner.
  static bool smooth(Vec3 own_in, Vec3 own_out, Vec3 in, Vec3 out) {
    double const own = angle_between(own_in, own_out);
    return angle_between(in, out) <= std::max(joint, own + (own > sharp_turn ? joint : tangent_slack));
  }

  Vec3 begin_of(Piece const& piece) const {
    return piece.arc ? motion::direction_at(*piece.arc, 0) : line_direction(piece.first);
  }
  Vec3 end_of(Piece const& piece) const {
    return piece.arc ? motion::direction_at(*piece.arc, 1) : line_direction(piece.end - 1);
  }

  /// The arc goes on from `before` and to `after` without making a corner.
  bool joins_on(Piece const& arc, std::optional<Vec3> before, std::optional<Vec3> after) const {
    std::optional<Vec3> const own_before = arc.first > first_ ? line_direction(arc.first - 1) : ends_.before;
    std::optional<Vec3> const own_after = arc.end < end_ ? line_direction(arc.end) : ends_.after;
    return (!before || smooth(*own_before, line_direction(arc.first), *before, begin_of(arc))) &&
           (!after || smooth(line_direction(arc.end - 1), *own_after, end_of(arc), *after));
  }

  std::optional<Vec3> before(std::span<Piece const> pieces) const {
    return pieces.empty() ? ends_.before : end_of(pieces.back());
  }
  std::optional<Vec3> line_after(std::size_t end) const {
    return end < end_ ? line_direction(end) : ends_.after;
  }

  // ---- all of a stretch ----------------------------------------------------------------------------------

  void find_arcs(std::size_t first, std::size_t end) {
    while (first < end) {
      std::size_t const count = longest(fewest_chords, end - first,
                                        [&](std::size_t tried) { return may_be_arc(first, first + tried); });
      std::size_t kept = 1;
      if (count != 0) {
        // Half of a line that an arc may follow is passed over at once, or each of its parts would be tried.
        if (is_line(first, first + count)) {
          kept = std::max<std::size_t>(1, count / 2);
        } else if (auto piece = arc_from(first, count)) {
          first = piece->end;
          pieces_.push_back(*piece);
          continue;
        } else {
          kept = std::max<std::size_t>(1, count / 8);
        }
      }
      pieces_.push_back({first, first + kept, std::nullopt, 0});
      first += kept;
    }
  }

  /// The longest arc from a line on that passes its measure and joins on at both ends.
  std::optional<Piece> arc_from(std::size_t first, std::size_t count) const {
    for (int tries = 0; tries < shorter_tries && count >= fewest_chords; ++tries, --count) {
      auto const arc = geometry::nearest_arc(points(first, first + count), limits());
      if (!arc || is_line(first, first + count)) continue;
      auto piece = measured(first, first + count, arc->centre, arc->ccw);
      if (piece && joins_on(*piece, before(pieces_), line_after(piece->end))) return piece;
    }
    return std::nullopt;
  }

  // ---- arcs that are one ---------------------------------------------------------------------------------

  void join_arcs() {
    std::vector<Piece> found;
    found.swap(pieces_);
    for (std::size_t i = 0; i < found.size(); ++i) {
      std::optional<Vec3> const after =
          i + 1 < found.size() ? begin_of(found[i + 1]) : line_after(found[i].end);
      pieces_.push_back(found[i]);
      while (join_last_two(after)) {
      }
    }
  }

  bool join_last_two(std::optional<Vec3> after) {
    if (pieces_.size() < 2) return false;
    Piece const& a = pieces_[pieces_.size() - 2];
    Piece const& b = pieces_.back();
    if (!may_be_one(a, b)) return false;
    auto whole = one_arc(a, b);
    if (!whole || !joins_on(*whole, before({pieces_.data(), pieces_.size() - 2}), after)) return false;
    pieces_.pop_back();
    pieces_.back() = *whole;
    return true;
  }

  /// The angle that the lines from one to another wind up, radians, taken for chords of one arc.
  double winding(std::size_t first, std::size_t end) const {
    auto const chords = static_cast<double>(end - first);
    return std::abs(turned_[end - 1] - turned_[first]) * chords / std::max(chords - 1, 1.0);
  }

  /// Worth measuring: two arcs of like radius that turn the same way, or an arc that was only stopped by
  /// `most_sweep` and what is left of its circle.
  bool may_be_one(Piece const& a, Piece const& b) const {
    bool const closed = points_[a.first] == points_[b.end];
    if (!a.arc || winding(a.first, b.end) > (closed ? 2 * std::numbers::pi + joint : most_open_sweep))
      return false;
    if (!b.arc) return motion::sweep(*a.arc) > 0.75 * most_sweep;
    double const r = motion::radius(*a.arc);
    return a.arc->path == b.arc->path && std::abs(motion::radius(*b.arc) - r) <= 0.2 * r;
  }

  std::optional<Piece> one_arc(Piece const& a, Piece const& b) const {
    std::vector<Vec2> samples;
    for (std::size_t i = a.first; i < b.end; ++i) {
      samples.push_back(points_[i]);
      samples.push_back((points_[i] + points_[i + 1]) / 2);
    }
    auto const fit = geometry::fit_circle(samples);
    if (!fit) return std::nullopt;
    // Equally far from both ends, so that start and end have one radius.
    Vec2 const from = points_[a.first], to = points_[b.end];
    Vec2 const along = geometry::normalized(to - from);
    Vec2 const centre = fit->circle.centre - dot(fit->circle.centre - (from + to) / 2, along) * along;
    return measured(a.first, b.end, centre, a.arc->path == PathKind::arc_ccw);
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_fit_arcs(motion::StepSource& upstream, Context& context) {
  return std::make_unique<FitArcs>(upstream, context);
}

} // namespace restep::transform
