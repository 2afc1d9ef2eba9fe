// Reference points, machine coordinates, probes and offsets.

#include "dialect/fresh_blocks.hpp"
#include "motion/work_offset.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::dialect {

using motion::Distance;

void FreshBlocks::write_home(motion::Home const& h) {
  note_motion();
  char const* const code = h.second ? "G30" : "G28";
  if (!dialect_.home) {
    refuse("no-home", fmt::format("the control has no {}: it cannot go to its reference point", code),
           "retract to a height in work coordinates instead");
    return;
  }
  if (dialect_.read.home_moves_all_axes && h.axes != 7) {
    refuse("home-all-axes", fmt::format("{} would send every axis of this control home", code),
           "use G53 to retract one axis");
    return;
  }
  prepare();
  leave_cycle();
  // Through the point where the tool stands: "G91 G28 Z0" says that whatever that point is called.
  bool through_here = true;
  for (int axis = 0; axis < 3; ++axis) {
    double const via = h.via[axis];
    double const now = motion::is_known(control_.position[axis]) ? control_.position[axis] : h.from[axis];
    bool const stays =
        !motion::is_known(via) || (motion::is_known(now) && std::abs(rounded(axis, via) - now) < same_place);
    if (!stays) through_here = false;
  }
  for (int axis = 0; axis < 3; ++axis) {
    if (!through_here && !motion::is_known(h.via[axis]) && (h.axes & (1U << axis))) {
      refuse("home-via", fmt::format("{} goes through a point that is not known on every axis", code),
             "write the intermediate point out, or go home one axis at a time");
      return;
    }
  }
  add_distance(through_here ? Distance::incremental : Distance::absolute);
  block_.code('G', h.second ? 300 : 280);
  for (int axis = 0; axis < 3; ++axis) {
    if (through_here) {
      if (h.axes & (1U << axis)) block_.length("XYZ"[axis], 0, control_.modes.units);
    } else if (motion::is_known(h.via[axis])) {
      add_axis(axis, h.via[axis]);
    }
  }
  end_block();
  control_.follow(h);
  name_motion_ = true;
  if (!through_here) return;
  add_distance(Distance::absolute);
  end_block();
}

void FreshBlocks::write_machine_move(motion::MachineMove const& m) {
  note_motion();
  if (!dialect_.machine_coordinates) {
    refuse("no-machine-coordinates", "the control has no G53: it cannot move in machine coordinates",
           "retract to a height in work coordinates instead");
    return;
  }
  prepare();
  leave_cycle();
  add_distance(Distance::absolute);
  Feed const feed{motion::FeedMode::per_minute, m.feed};
  if (!m.rapid) add_feed_mode(feed);
  block_.code('G', 530);
  int const code = m.rapid ? 0 : 10;
  block_.code('G', code);
  control_.modes.motion = static_cast<std::int16_t>(code);
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(m.to[axis])) add_length("XYZ"[axis], m.to[axis]);
  if (!m.rapid) add_feed(feed);
  end_block();
  control_.follow(m);
  name_motion_ = true;
}

void FreshBlocks::write_probe(motion::Probe const& p) {
  note_motion();
  if (!dialect_.probe) {
    refuse("no-probe", "the control cannot probe (G38.2)", "set the part up without probing");
    return;
  }
  prepare();
  leave_cycle();
  add_distance(Distance::absolute);
  Feed const feed{motion::FeedMode::per_minute, p.feed};
  add_feed_mode(feed);
  block_.code('G', p.code);
  control_.modes.motion = p.code;
  for (int axis = 0; axis < 3; ++axis)
    if (word_for(axis, p.to[axis], Distance::absolute)) add_axis(axis, p.to[axis]);
  add_feed(feed);
  end_block();
  control_.follow(p);
}

void FreshBlocks::write_offset_change(motion::OffsetChange const& o) {
  bool const local = o.code == 520;
  if (local ? !dialect_.local_shift : !dialect_.coordinate_shift) {
    refuse("no-shift",
           fmt::format("the control has no {}: every position that follows would be elsewhere",
                       local ? "G52" : "G92"),
           "post the program in the coordinates of the work offset");
    return;
  }
  prepare();
  leave_cycle();
  block_.code('G', o.code);
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(o.values[axis])) add_length("XYZ"[axis], o.values[axis]);
  end_block();
  control_.follow(o);
}

void FreshBlocks::write_set_origin(motion::SetOrigin const& o) {
  if (o.here ? !dialect_.set_origin_here : !dialect_.set_origin) {
    refuse(
        "no-set-origin",
        fmt::format("the control has no G10 {}: the program cannot store an origin", o.here ? "L20" : "L2"),
        "store the origin by hand and take G10 out of the program");
    return;
  }
  prepare();
  leave_cycle();
  add_distance(Distance::absolute);
  block_.code('G', 100);
  block_.whole('L', o.here ? 20 : 2);
  block_.whole('P', o.system);
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(o.origin[axis])) add_length("XYZ"[axis], o.origin[axis]);
  end_block();
  control_.follow(o);
}

void FreshBlocks::write_work_offset(motion::WorkOffset const& w) {
  constexpr int first_behind_the_point = 7; // G59.1
  int const further = w.system - motion::standard_work_offsets;
  auto const name = motion::work_offset_name(w.system);
  if (further > 0 ? further <= dialect_.further_work_offsets : w.system <= dialect_.work_offset_count) {
    prepare();
    leave_cycle();
    block_.code('G', further > 0                         ? 541
                     : w.system < first_behind_the_point ? 530 + 10 * w.system
                                                         : 590 + (w.system - first_behind_the_point + 1));
    if (further > 0) block_.whole('P', further);
    end_block();
    control_.follow(w);
    return;
  }
  if (w.system != 1) {
    refuse("no-work-offset", fmt::format("the control has no work offset {}", name),
           "put the parts into work offsets that it has, or run one part at a time");
    return;
  }
  warn_once("no-work-offsets", fmt::format("the control has no work offsets: {} is left out", name),
            fmt::format("set the control's zero to the part's zero that {} stood for", name));
}

void FreshBlocks::write_length_offset(motion::LengthOffset const& l) {
  if (!dialect_.length_offset) {
    if (l.active)
      warn_once("no-length-offset", "the control has no tool length offsets: G43 is left out",
                "touch off each tool in Z after its change");
    return;
  }
  prepare();
  leave_cycle();
  block_.code('G', l.active ? 430 : 490);
  if (l.active) block_.whole('H', l.index);
  end_block();
  control_.follow(l);
}

} // namespace restep::dialect
