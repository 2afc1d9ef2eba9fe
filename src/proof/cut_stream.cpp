#include "proof/cut_stream.hpp"

#include "motion/cycle.hpp"

namespace restep::proof {

Cut* CutStream::current() {
  while (!cut_ && fetch()) {
  }
  return cut_ ? &*cut_ : nullptr;
}

void CutStream::pass() {
  last_ = cut_->place;
  cut_.reset();
}

motion::Stretch const& CutStream::ahead() {
  static motion::Stretch const none;
  if (cut_ || part_ < parts_.size()) return none;
  if (ahead_.size == 0 && !(may_stretch_ && source_.next_stretch(ahead_))) return none;
  return ahead_;
}

void CutStream::pass_ahead(std::size_t count) {
  motion::Ways const ways = ahead_.ways();
  for (std::size_t i = 0; i < count; ++i)
    length_ += ways.length[i];
  cuts_ += count;
  last_ = place_ = ahead_.places()[count - 1];
  position_ = ahead_.point(count);
  ahead_ = ahead_.behind(count);
}

bool CutStream::fetch() {
  if (part_ < parts_.size()) {
    take(parts_[part_++]);
    return true;
  }
  motion::Step step;
  if (ahead_.size > 0) {
    step = ahead_.step(0);
    ahead_ = ahead_.behind(1);
  } else if (!source_.next(step)) {
    return false;
  }
  may_stretch_ = motion::may_precede_stretch(step);
  place_ = step.place;
  if (auto const* cycle = std::get_if<motion::Cycle>(&step.event)) {
    motion::expand(*cycle, state_.rotation, parts_);
    part_ = 0;
  } else {
    take(step.event);
  }
  return true;
}

void CutStream::take(motion::Event const& event) {
  if (auto const* move = std::get_if<motion::Motion>(&event)) {
    position_ = move->to;
    if (motion::is_cutting(*move)) begin(*move);
  } else if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event)) {
    state_.speed = speed->rpm;
  } else if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) {
    state_.rotation = turn->rotation;
  } else if (auto const* change = std::get_if<motion::ToolChange>(&event)) {
    state_.tool = change->tool;
    state_.rotation = motion::Rotation::stop;
  } else if (auto const* coolant = std::get_if<motion::Coolant>(&event)) {
    state_.mist = coolant->kind == motion::CoolantKind::mist ||
                  (state_.mist && coolant->kind != motion::CoolantKind::off);
    state_.flood = coolant->kind == motion::CoolantKind::flood ||
                   (state_.flood && coolant->kind != motion::CoolantKind::off);
  } else if (auto const* compensation = std::get_if<motion::Compensation>(&event)) {
    state_.compensation = *compensation;
  } else {
    take_place(event);
  }
}

/// What changes where coordinates lie on the machine, or where the tool is.
void CutStream::take_place(motion::Event const& event) {
  if (auto const* work = std::get_if<motion::WorkOffset>(&event)) {
    state_.work_offset = work->system;
    auto const origin = origins_.find(work->system);
    state_.origin = origin == origins_.end() ? motion::unknown_position : origin->second;
    position_ = motion::unknown_position;
  } else if (auto const* set = std::get_if<motion::SetOrigin>(&event)) {
    Vec3& origin = origins_.try_emplace(set->system, motion::unknown_position).first->second;
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(set->origin[axis])) origin[axis] = set->origin[axis];
    if (set->system == state_.work_offset) {
      state_.origin = origin;
      position_ = motion::unknown_position;
    }
  } else if (auto const* offset = std::get_if<motion::LengthOffset>(&event)) {
    state_.length_offset = *offset;
  } else if (auto const* change = std::get_if<motion::OffsetChange>(&event)) {
    change_offset(*change);
  } else if (auto const* home = std::get_if<motion::Home>(&event)) {
    for (int axis = 0; axis < 3; ++axis)
      if ((home->axes >> axis & 1) != 0) position_[axis] = motion::unknown;
  } else if (auto const* move = std::get_if<motion::MachineMove>(&event)) {
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(move->to[axis])) position_[axis] = motion::unknown;
  } else if (std::holds_alternative<motion::Probe>(event)) {
    position_ = motion::unknown_position;
  } else if (auto const* carried = std::get_if<motion::Carried>(&event)) {
    if (carried->motion_unknown) position_ = motion::unknown_position;
  }
}

void CutStream::change_offset(motion::OffsetChange const& change) {
  Vec3 const before = axis_shift_ + local_shift_;
  for (int axis = 0; axis < 3; ++axis) {
    double const value = change.values[axis];
    switch (change.code) {
    case 920:
      // offset = (current - given) + old offset (NISTIR 6556, 3.5.18)
      if (motion::is_known(value)) axis_shift_[axis] += position_[axis] - value;
      break;
    case 921:
    case 922: axis_shift_[axis] = 0; break;
    case 923: axis_shift_[axis] = saved_shift_[axis]; break;
    case 520:
      if (motion::is_known(value)) local_shift_[axis] = value;
      break;
    default: break;
    }
  }
  if (change.code == 920) saved_shift_ = axis_shift_;
  if (change.code == 921) saved_shift_ = {};
  state_.shift = axis_shift_ + local_shift_;
  // The tool stays where it is; only its coordinates change.
  position_ = position_ + before - state_.shift;
  for (int axis = 0; axis < 3; ++axis)
    if (change.code == 920 && motion::is_known(change.values[axis])) position_[axis] = change.values[axis];
}

Vec3 CutStream::moved_by() const {
  Vec3 by = moved_by_;
  for (int axis = 0; axis < 3; ++axis)
    if (motion::is_known(state_.shift[axis])) by[axis] += state_.shift[axis];
  return by;
}

Cut CutStream::cut_of(motion::Motion const& move, text::Place place) const {
  Vec3 const by = moved_by();
  motion::Motion placed = move;
  placed.from = move.from + by;
  placed.to = move.to + by;
  placed.centre = move.centre + by;
  Cut cut{move, Course(placed), place, state_, move.feed};
  // Inverse time says F such moves a minute.
  if (move.feed_mode == motion::FeedMode::inverse_time && motion::is_known(move.from) &&
      motion::is_known(move.to))
    cut.feed = move.feed * cut.course.length();
  return cut;
}

void CutStream::begin(motion::Motion const& move) {
  cut_.emplace(cut_of(move, place_));
  ++cuts_;
  if (motion::is_known(move.from) && motion::is_known(move.to)) length_ += cut_->course.length();
}

} // namespace restep::proof
