#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace restep::property {

using Point = std::array<double, 3>;

/// One thing that a control does: its name and its figures, all in mm, mm/min and seconds. NaN: not named.
struct ReferenceAct {
  std::string what;
  std::vector<double> values;
};

/// One hole of a canned cycle; `over` has its bottom in the axis normal to the plane.
struct ReferenceHole {
  int code = 81;
  std::size_t normal = 2;
  Point from{}, over{}, shift{};
  double retract = 0, clear = 0, peck = 0, dwell = 0;
  int spindle = 5; ///< M3, M4 or M5
};

/// What a control does for a hole, straight from NISTIR 6556, 3.5.16.1 to 3.5.16.10: T traverse, F feed. How
/// far above the last bottom G83 stops is not in the report: 0.254 mm.
class ReferenceCycle {
public:
  explicit ReferenceCycle(ReferenceHole const& hole)
      : hole_(hole)
      , stand_(hole.from) {}

  std::vector<ReferenceAct> acts() {
    double const bottom = hole_.over[hole_.normal];
    if (stand_[hole_.normal] < hole_.retract) height("T", hole_.retract);
    across({});
    height("T", hole_.retract);
    if (hole_.code == 87) return back_bore(bottom);
    if (hole_.code == 83)
      pecks(bottom);
    else
      height("F", bottom);
    if (hole_.code == 84) return tap();
    if (hole_.dwell > 0) act("G4", {hole_.dwell});
    bool const stops = hole_.code == 86 || hole_.code == 88;
    if (stops) act("M5");
    if (hole_.code == 88) act("M0");
    height(hole_.code == 85 || hole_.code == 89 ? "F" : "T", hole_.clear);
    if (stops) spindle();
    return acts_;
  }

private:
  ReferenceHole hole_;
  Point stand_;
  std::vector<ReferenceAct> acts_;

  void act(std::string what, std::vector<double> values = {}) {
    acts_.push_back({std::move(what), std::move(values)});
  }
  void spindle() { act("M" + std::to_string(hole_.spindle)); }
  void go(std::string const& how, Point const& to) {
    double way = 0;
    for (std::size_t axis = 0; axis < 3; ++axis)
      way = std::max(way, std::abs(to[axis] - stand_[axis]));
    if (way > 1e-9) act(how, {to[0], to[1], to[2]});
    stand_ = to;
  }
  void height(std::string const& how, double level) {
    Point to = stand_;
    to[hole_.normal] = level;
    go(how, to);
  }
  void across(Point const& shift) {
    Point to = stand_;
    for (std::size_t axis = 0; axis < 3; ++axis)
      if (axis != hole_.normal) to[axis] = hole_.over[axis] + shift[axis];
    go("T", to);
  }

  void pecks(double bottom) {
    for (double depth = hole_.retract;;) {
      depth = depth - hole_.peck <= bottom + 1e-8 ? bottom : depth - hole_.peck;
      height("F", depth);
      if (depth == bottom) return;
      height("T", hole_.clear);
      height("T", std::min(depth + 0.254, hole_.retract));
    }
  }

  std::vector<ReferenceAct> tap() {
    act("M5");
    if (hole_.dwell > 0) act("G4", {hole_.dwell});
    act("M4");
    height("F", hole_.clear);
    act("M5");
    act("M3");
    return acts_;
  }

  std::vector<ReferenceAct> back_bore(double bottom) {
    across(hole_.shift);
    act("M5");
    height("T", bottom);
    across({});
    spindle();
    height("F", hole_.shift[hole_.normal]);
    height("F", bottom);
    act("M5");
    across(hole_.shift);
    height("T", hole_.clear);
    across({});
    spindle();
    return acts_;
  }
};

} // namespace restep::property
