#include "interpret/control.hpp"

namespace restep::interpret {

void Control::reset_at_end() {
  shift = {{}, all_axes};
  if (system > 1) {
    for (int axis = 0; axis < 3; ++axis)
      position.forget(axis);
  }
  system = 1;
  modes.plane = motion::Plane::xy;
  modes.distance = motion::Distance::absolute;
  modes.feed_mode = motion::FeedMode::per_minute;
  modes.motion = 10;
  side = motion::Side::off;
  rotation = motion::Rotation::stop;
  cycle = {};
  frame = {};
  polar = false;
}

} // namespace restep::interpret
