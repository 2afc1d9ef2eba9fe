#include "motion/cycle.hpp"

#include "motion/arc.hpp"

#include <algorithm>

namespace restep::motion {
namespace {

/// Makes the events of one hole; `at_` is where the tool is.
class Sequence {
public:
  Sequence(Cycle const& cycle, Rotation rotation, std::vector<Event>& events)
      : cycle_(cycle)
      , axes_(axes_of(cycle.plane))
      , rotation_(rotation)
      , events_(events)
      , at_(cycle.from) {}

  void run();

private:
  Cycle const& cycle_;
  PlaneAxes axes_;
  Rotation rotation_;
  std::vector<Event>& events_;
  Vec3 at_;

  double bottom() const { return cycle_.hole[axes_.normal]; }

  void move(PathKind path, Vec3 const& to) {
    if (to == at_) return;
    Motion motion;
    motion.path = path;
    motion.plane = cycle_.plane;
    motion.feed_mode = cycle_.feed_mode;
    motion.from = at_;
    motion.to = to;
    motion.feed = path == PathKind::rapid ? 0 : cycle_.feed;
    events_.emplace_back(motion);
    at_ = to;
  }
  void height(PathKind path, double level) {
    Vec3 to = at_;
    to[axes_.normal] = level;
    move(path, to);
  }
  void rapid(double level) { height(PathKind::rapid, level); }
  void feed(double level) { height(PathKind::line, level); }
  void dwell() {
    if (cycle_.dwell > 0) events_.emplace_back(Dwell{cycle_.dwell});
  }
  void turn(Rotation rotation) { events_.emplace_back(SpindleTurn{rotation}); }
  void shifted(bool out) {
    double const shift[3] = {cycle_.shift_i, cycle_.shift_j, cycle_.shift_k};
    Vec3 to = at_;
    for (int const axis : {axes_.first, axes_.second})
      to[axis] = cycle_.hole[axis] + (out ? shift[axis] : 0);
    move(PathKind::rapid, to);
  }

  void position();
  void peck(bool leaves_hole);
  void tap(Rotation cutting);
  void fine_bore();
  void back_bore();
};

/// NISTIR 6556, 3.5.16.1
void Sequence::position() {
  if (at_[axes_.normal] < cycle_.retract) rapid(cycle_.retract);
  Vec3 over = cycle_.hole;
  over[axes_.normal] = at_[axes_.normal];
  move(PathKind::rapid, over);
}

/// G83 leaves the hole after each peck (3.5.16.4), G73 backs off a little to break the chip.
void Sequence::peck(bool leaves_hole) {
  constexpr double rounding = 1e-9;
  rapid(cycle_.retract);
  for (int count = 1;; ++count) {
    double const planned = cycle_.retract - count * cycle_.peck;
    bool const last = !(cycle_.peck > 0) || planned <= bottom() + rounding;
    double const depth = last ? bottom() : planned;
    feed(depth);
    if (last) break;
    double const above = std::min(depth + peck_clearance, cycle_.retract);
    if (leaves_hole) rapid(cycle_.clear);
    rapid(above);
  }
  dwell();
  rapid(cycle_.clear);
}

void Sequence::tap(Rotation cutting) {
  Rotation const back = cutting == Rotation::clockwise ? Rotation::counter_clockwise : Rotation::clockwise;
  rapid(cycle_.retract);
  feed(bottom());
  turn(Rotation::stop);
  dwell();
  turn(back);
  feed(cycle_.clear);
  turn(Rotation::stop);
  turn(cutting);
}

void Sequence::fine_bore() {
  rapid(cycle_.retract);
  feed(bottom());
  dwell();
  turn(Rotation::stop);
  shifted(true);
  rapid(cycle_.clear);
  shifted(false);
  turn(rotation_);
}

/// NISTIR 6556, 3.5.16.8: the bar enters beside the hole and cuts upwards to K.
void Sequence::back_bore() {
  double const shift[3] = {cycle_.shift_i, cycle_.shift_j, cycle_.shift_k};
  rapid(cycle_.retract);
  shifted(true);
  turn(Rotation::stop);
  rapid(bottom());
  shifted(false);
  turn(rotation_);
  feed(shift[axes_.normal]);
  feed(bottom());
  turn(Rotation::stop);
  shifted(true);
  rapid(cycle_.clear);
  shifted(false);
  turn(rotation_);
}

void Sequence::run() {
  position();
  switch (cycle_.code) {
  case 730: return peck(false);
  case 740: return tap(Rotation::counter_clockwise);
  case 760: return fine_bore();
  case 830: return peck(true);
  case 840: return tap(Rotation::clockwise);
  case 870: return back_bore();
  default: break;
  }
  rapid(cycle_.retract);
  feed(bottom());
  dwell();
  switch (cycle_.code) {
  case 850:
  case 890: feed(cycle_.clear); break;
  case 860:
    turn(Rotation::stop);
    rapid(cycle_.clear);
    turn(rotation_);
    break;
  case 880:
    // The operator brings the tool out by hand while the program stands still.
    turn(Rotation::stop);
    events_.emplace_back(Stop{StopKind::program});
    rapid(cycle_.clear);
    turn(rotation_);
    break;
  default: rapid(cycle_.clear); break;
  }
}

} // namespace

std::vector<Event> expand(Cycle const& cycle, Rotation rotation) {
  std::vector<Event> events;
  expand(cycle, rotation, events);
  return events;
}

void expand(Cycle const& cycle, Rotation rotation, std::vector<Event>& events) {
  events.clear();
  Sequence(cycle, rotation, events).run();
}

} // namespace restep::motion
