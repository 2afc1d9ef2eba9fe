#include "finish/raster_find.hpp"

#include "geometry/arc.hpp"
#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <variant>

namespace restep::finish {

namespace {

constexpr double pi = std::numbers::pi;

// What the digits of a program move a plan point off its line: half a digit in either axis, at three decimals
// of a millimetre or four of an inch, and as much again for the point the line is told from.
constexpr double tolerance_mm = 0.0015;
constexpr double tolerance_inch = 0.0038;

constexpr double same_place = 1e-9; // mm

// Shorter than this many tolerances a run has no direction.
constexpr double directed = 8;
// A step across is at most this many times the largest before it.
constexpr double odd_stepover = 12;

// The points of an arc in a vertical plane behind its start; none when its course in plan is not straight one
// way.
std::vector<Vec3> upright_arc(motion::Motion const& m) {
  std::vector<Vec3> points;
  motion::PlaneAxes const axes = motion::axes_of(m.plane);
  if (m.plane == motion::Plane::xy || m.from[axes.normal] != m.to[axes.normal]) return points;
  double const radius = std::max(motion::radius(m), 10 * RasterPiece::arc_tolerance);
  double const most = 2 * std::acos(1 - RasterPiece::arc_tolerance / radius);
  int const chords = std::max(1, static_cast<int>(std::ceil(motion::sweep(m) / most)));
  int const flat = m.plane == motion::Plane::zx ? 0 : 1;
  double const way = m.to[flat] - m.from[flat];
  double last = m.from[flat];
  for (int k = 1; k <= chords; ++k) {
    points.push_back(motion::point_at(m, static_cast<double>(k) / chords));
    if (!((points.back()[flat] - last) * way > 0)) return {};
    last = points.back()[flat];
  }
  return points;
}

} // namespace

RasterFrame RasterFrame::turned(double angle) {
  RasterFrame frame;
  frame.angle = angle;
  frame.u = geometry::Arc2::turned({1, 0}, angle);
  frame.v = left_normal(frame.u);
  return frame;
}

void RasterFinder::add(motion::Step const& step, std::uint32_t number) {
  number_ = number;
  gave_up_ = false;
  motion::Motion const* m = motion::motion_of(step);
  if (m != nullptr) {
    tolerance_ = step.modes.units == motion::Units::inch ? tolerance_inch : tolerance_mm;
    add(*m);
  } else if (!std::holds_alternative<motion::Comment>(step.event) &&
             !std::holds_alternative<motion::Layout>(step.event)) {
    end();
  }
}

void RasterFinder::add(motion::Stretch const& cuts, std::size_t i) {
  number_ = cuts.places()[i].line;
  gave_up_ = false;
  tolerance_ = cuts.modes.units == motion::Units::inch ? tolerance_inch : tolerance_mm;
  if (++waiting_ > limits_.longest_wait) give_up();
  add_line(cuts.point(i), cuts.point(i + 1));
}

void RasterFinder::add(motion::Motion const& m) {
  bool const known = motion::is_known(m.from) && motion::is_known(m.to);
  if (!known || m.compensated || m.rotary) return end();
  if (++waiting_ > limits_.longest_wait) give_up();
  if (!motion::is_cutting(m)) return close_run();
  if (motion::is_arc(m)) {
    std::vector<Vec3> const points = upright_arc(m);
    if (points.empty()) return close_run();
    for (Vec3 const& p : points) {
      Vec3 const at = run_.points.empty() ? m.from : run_.points.back();
      if (!extend(p)) {
        close_run();
        start_run(at);
        extend(p);
      }
    }
    return;
  }
  add_line(m.from, m.to);
}

void RasterFinder::add_line(Vec3 const& from, Vec3 const& to) {
  if (from.x == to.x && from.y == to.y) return close_run();
  if (run_.points.empty()) start_run(from);
  if (extend(to)) return;
  close_run();
  start_run(from);
  extend(to);
}

std::uint32_t RasterFinder::first_number() const {
  if (!lines_.empty()) return static_cast<std::uint32_t>(lines_.front().pieces.front().first_step());
  if (!pending_.empty()) return pending_.front().steps.front();
  return run_.steps.empty() ? number_ : run_.steps.front();
}

void RasterFinder::start_run(Vec3 const& at) {
  run_.points.push_back(at);
}

// Takes a point into the run; false when it does not go on straight.
bool RasterFinder::extend(Vec3 const& to) {
  if (run_.points.empty()) return false;
  Vec2 const q = geometry::xy(to) - geometry::xy(run_.points.front());
  double const reach = length(q);
  Directions const& d = run_.directions;
  if (d.known) {
    Vec2 const before = geometry::xy(run_.points.back());
    if (dot(geometry::xy(to) - before, run_.along) <= same_place) return false;
    // A point well inside tells nothing that the ones behind it do not tell better: the last of them speaks
    // for all once one stands off.
    if (std::abs(cross(run_.along, q)) > tolerance_ / 2) {
      narrow(before - geometry::xy(run_.points.front()), run_.reach);
      if (!narrow(q, reach)) return false;
    }
  } else if (reach > directed * tolerance_) {
    for (std::size_t i = 1; i < run_.points.size(); ++i)
      if (dot(geometry::xy(run_.points[i]) - geometry::xy(run_.points[i - 1]), q) <= 0) return false;
    narrow(q, reach);
  }
  run_.reach = reach;
  run_.points.push_back(to);
  run_.steps.push_back(number_);
  return true;
}

// Both the point and the start may stand a tolerance off the line.
bool RasterFinder::narrow(Vec2 q, double reach) {
  Directions& d = run_.directions;
  double const angle = std::atan2(q.y, q.x);
  double const slack = std::asin(std::min(1.0, 2 * tolerance_ / reach));
  if (!d.known) {
    d = {true, angle, -slack, slack};
  } else {
    double const off = std::remainder(angle - d.reference, 2 * pi);
    double const low = std::max(d.low, off - slack);
    double const high = std::min(d.high, off + slack);
    if (low > high) return false;
    d.low = low;
    d.high = high;
  }
  run_.along = {std::cos(d.middle()), std::sin(d.middle())};
  return true;
}

void RasterFinder::close_run() {
  if (run_.directions.known)
    narrow(geometry::xy(run_.points.back()) - geometry::xy(run_.points.front()), run_.reach);
  Run run = std::move(run_);
  run_ = {};
  if (run.directions.known)
    accept(std::move(run));
  else
    link_motions_ += run.steps.size();
  if (link_motions_ > limits_.longest_link) give_up();
}

void RasterFinder::accept(Run run) {
  if (count_ > 0) {
    if (fits(run)) return;
    // What does not go on with the pass may begin another.
    finish_pass();
  }
  pending_.push_back(std::move(run));
  seed();
}

// A run as long as half the tool is wide has a direction that tells lines from links.
void RasterFinder::seed() {
  if (pending_.empty() || pending_.back().reach < limits_.max_stepover / 2) return;
  std::vector<Run> runs = std::move(pending_);
  pending_.clear();
  Directions const wanted = runs.back().directions;
  for (Run& run : runs) {
    if (count_ == 0) {
      directions_ = wanted;
      set_frame(wanted);
    }
    if (!fits(run)) {
      finish_pass();
      directions_ = wanted;
      set_frame(wanted);
      fits(run);
    }
  }
}

// Places a run in the pass that is going on: true when it is one of its lines, or a link between them.
bool RasterFinder::fits(Run& run) {
  // The same direction or its opposite.
  double const turn = std::remainder(run.directions.reference - directions_.reference, pi);
  double const low = std::max(directions_.low, turn + run.directions.low);
  double const high = std::min(directions_.high, turn + run.directions.high);
  if (low > high) {
    // A cut as long as a line is no link: lines of a zigzag without steps across are not parallel.
    if (count_ > 0) {
      auto const& line = lines_.back().pieces.back().points;
      double const reach = distance(geometry::xy(line.front()), geometry::xy(line.back()));
      if (run.reach > std::max(limits_.max_stepover, reach / 2)) return false;
    }
    link_motions_ += run.steps.size();
    return true;
  }
  Vec2 const first = frame_.own(geometry::xy(run.points.front()));
  Vec2 const last = frame_.own(geometry::xy(run.points.back()));
  double const v = (first.y + last.y) / 2;
  bool new_line = true;
  if (count_ > 0) {
    RasterLine const& line = lines_.back();
    double const step = v - line.v;
    if (std::abs(step) <= 2 * tolerance_) {
      new_line = false;
      double const from = std::min(first.x, last.x);
      double const to = std::max(first.x, last.x);
      for (RasterPiece const& piece : line.pieces) {
        double const a = frame_.own(geometry::xy(piece.points.front())).x;
        double const b = frame_.own(geometry::xy(piece.points.back())).x;
        if (from < std::max(a, b) - 2 * tolerance_ && to > std::min(a, b) + 2 * tolerance_) return false;
      }
    } else {
      if (side_ != 0 && step * side_ < 0) return false;
      if (std::abs(step) > limits_.max_stepover) return false;
      if (count_ > 2 && std::abs(step) > odd_stepover * largest_stepover_) return false;
      side_ = step > 0 ? 1 : -1;
      largest_stepover_ = std::max(largest_stepover_, std::abs(step));
    }
  }
  directions_.low = low;
  directions_.high = high;
  set_frame(directions_);
  take(run, v, new_line);
  return true;
}

void RasterFinder::take(Run& run, double v, bool new_line) {
  waiting_ = link_motions_ = 0;
  RasterPiece piece{std::move(run.points), std::move(run.steps)};
  if (!new_line) {
    RasterPiece& before = lines_.back().pieces.back();
    bool const goes_on = before.points.back() == piece.points.front();
    Vec2 const way = geometry::xy(before.points.back()) - geometry::xy(before.points.front());
    if (goes_on && dot(way, geometry::xy(piece.points.back()) - geometry::xy(piece.points.front())) > 0) {
      before.points.insert(before.points.end(), piece.points.begin() + 1, piece.points.end());
      before.steps.insert(before.steps.end(), piece.steps.begin(), piece.steps.end());
    } else {
      lines_.back().pieces.push_back(std::move(piece));
    }
    return;
  }
  if (established_) {
    sink_.line(frame_, std::move(lines_.back()));
    lines_.clear();
  }
  lines_.push_back({v, {}});
  lines_.back().pieces.push_back(std::move(piece));
  if (++count_ < limits_.min_lines || established_) return;
  established_ = true;
  for (std::size_t k = 0; k + 1 < lines_.size(); ++k)
    sink_.line(frame_, std::move(lines_[k]));
  lines_.erase(lines_.begin(), lines_.end() - 1);
}

// The middle of the directions left; a whole degree where one is among them, since that is what people
// choose.
void RasterFinder::set_frame(Directions const& d) {
  double const low = geometry::degrees(d.reference + d.low);
  double const high = geometry::degrees(d.reference + d.high);
  double const whole = std::ceil(low);
  double angle = std::fmod(whole <= high ? whole : (low + high) / 2, 180);
  if (angle < 0) angle += 180;
  angle += 0.0; // no -0
  frame_ = RasterFrame::turned(geometry::radians(angle));
}

void RasterFinder::forget() {
  lines_.clear();
  pending_.clear();
  count_ = 0;
  side_ = largest_stepover_ = 0;
  waiting_ = link_motions_ = 0;
  established_ = false;
}

void RasterFinder::give_up() {
  end();
  gave_up_ = true;
}

void RasterFinder::finish_pass() {
  if (established_) {
    sink_.line(frame_, std::move(lines_.back()));
    sink_.end(frame_);
  }
  forget();
}

void RasterFinder::end() {
  // The run that is going on may be the last line.
  if (run_.directions.known && count_ > 0) fits(run_);
  run_ = {};
  finish_pass();
}

namespace {

class Collector final : public RasterSink {
public:
  void line(RasterFrame const& /*frame*/, RasterLine line) override { lines_.push_back(std::move(line)); }
  void end(RasterFrame const& frame) override {
    RasterPass pass;
    pass.frame = frame;
    pass.lines = std::move(lines_);
    lines_.clear();
    for (RasterLine& line : pass.lines) {
      double low = std::numeric_limits<double>::infinity();
      double high = -low;
      for (RasterPiece const& piece : line.pieces)
        for (Vec3 const& p : piece.points) {
          double const v = frame.own(geometry::xy(p)).y;
          low = std::min(low, v);
          high = std::max(high, v);
        }
      line.v = (low + high) / 2;
      pass.tolerance = std::max(pass.tolerance, (high - low) / 2);
    }
    passes.push_back(std::move(pass));
  }
  std::vector<RasterPass> passes;

private:
  std::vector<RasterLine> lines_;
};

} // namespace

std::vector<RasterPass> find_rasters(std::span<motion::Step const> operation, RasterLimits const& limits) {
  Collector collector;
  RasterFinder finder(collector, limits);
  for (std::size_t i = 0; i < operation.size(); ++i)
    finder.add(operation[i], static_cast<std::uint32_t>(i));
  finder.end();
  return std::move(collector.passes);
}

} // namespace restep::finish
