#include "proof/control_state.hpp"

namespace restep::proof {

template <class Value>
bool ControlState::set(std::optional<Value>& kept, Value const& value, bool optional) {
  // Whether an optional block is executed is the operator's choice: afterwards nothing is known.
  if (optional) {
    kept.reset();
    return true;
  }
  if (kept == value) return false;
  kept = value;
  return true;
}

bool ControlState::changed_by(motion::Event const& event, bool optional) {
  if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event)) return set(speed_, speed->rpm, optional);
  if (auto const* turn = std::get_if<motion::SpindleTurn>(&event))
    return set(rotation_, turn->rotation, optional);
  if (auto const* select = std::get_if<motion::ToolSelect>(&event)) return set(tool_, select->tool, optional);
  if (auto const* coolant = std::get_if<motion::Coolant>(&event)) {
    switch (coolant->kind) {
    case motion::CoolantKind::mist: return set(mist_, true, optional);
    case motion::CoolantKind::flood: return set(flood_, true, optional);
    case motion::CoolantKind::off: break;
    }
    bool const mist = set(mist_, false, optional);
    bool const flood = set(flood_, false, optional);
    return mist || flood;
  }
  if (auto const* enable = std::get_if<motion::Override>(&event))
    return set(overrides_, enable->enabled, optional);
  if (auto const* work = std::get_if<motion::WorkOffset>(&event))
    return set(work_offset_, work->system, optional);
  if (auto const* offset = std::get_if<motion::LengthOffset>(&event))
    return set(length_offset_, *offset, optional);
  if (auto const* path = std::get_if<motion::PathControl>(&event)) return set(path_control_, *path, optional);
  if (auto const* side = std::get_if<motion::Compensation>(&event))
    return set(compensation_, *side, optional);

  // A tool change stops the spindle and may stop the coolant; the end of the program resets everything.
  if (std::holds_alternative<motion::ToolChange>(event)) {
    rotation_.reset();
    mist_.reset();
    flood_.reset();
    length_offset_.reset();
  } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
    if (stop->kind == motion::StopKind::end || stop->kind == motion::StopKind::end_rewind)
      *this = ControlState{};
  } else if (auto const* carried = std::get_if<motion::Carried>(&event)) {
    if (carried->motion_unknown) *this = ControlState{};
  }
  return true;
}

} // namespace restep::proof
