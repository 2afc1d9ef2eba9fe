#pragma once

#include "finish/contour.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "transform/pass_notes.hpp"
#include "transform/transform.hpp"

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <variant>

namespace restep::transform {

/// Levels that cannot be read as a pass because their cuts are under cutter compensation or among rotary
/// words: where the tool goes is then not known from the program alone. Says so once for each run of them
/// where a finish was asked for, so that nobody takes silence for done.
class UnreadLevels {
public:
  explicit UnreadLevels(Context& context)
      : context_(context) {}

  void see(motion::Step const& step) {
    motion::Motion const* m = motion::motion_of(step);
    if (m == nullptr) {
      if (std::holds_alternative<motion::ToolChange>(step.event)) end();
      return;
    }
    if (!motion::is_cutting(*m) || (m->from.x == m->to.x && m->from.y == m->to.y && !motion::is_arc(*m)))
      return;
    if (!m->compensated && !m->rotary) return end();
    if (!(std::abs(m->from.z - m->to.z) < finish::same_height)) return;
    if (heights_ == 0) {
      first_ = step.place;
      compensated_ = m->compensated;
    }
    last_line_ = step.place.line;
    if (heights_ == 0 || std::abs(m->to.z - z_) > finish::same_height) ++heights_;
    z_ = m->to.z;
  }

  void see(motion::Stretch const& cuts) {
    // Plain cuts are neither compensated nor rotary: the first that goes sideways ends what was before.
    for (std::size_t i = 0; heights_ > 0 && i < cuts.size; ++i)
      if (cuts.moves_sideways(i)) end();
  }

  void end() {
    constexpr std::size_t pass = 3; // levels
    if (heights_ >= pass)
      note_unread(context_, heights_, first_, last_line_,
                  compensated_ ? "they are under cutter compensation (G41, G42), and where the tool's centre "
                                 "goes depends on a number in the control"
                               : "a rotary axis is named among them",
                  compensated_ ? "post the pass with the course of the tool's centre to have it re-stepped"
                               : "");
    heights_ = 0;
  }

private:
  Context& context_;
  text::Place first_{};
  std::uint32_t last_line_ = 0;
  std::size_t heights_ = 0;
  double z_ = 0;
  bool compensated_ = false;
};

} // namespace restep::transform
