#pragma once

#include "motion/step.hpp"

#include <optional>

namespace restep::proof {

/// What a control keeps between blocks besides its position. Tells the events that change something from
/// those that say what already holds, which a writer may leave out. Nothing is taken for granted at the
/// start.
class ControlState {
public:
  /// Takes the event into account; false when it changes nothing.
  bool changed_by(motion::Event const& event, bool optional);

private:
  template <class Value>
  static bool set(std::optional<Value>& kept, Value const& value, bool optional);

  std::optional<double> speed_;
  std::optional<motion::Rotation> rotation_;
  std::optional<int> tool_;
  std::optional<bool> mist_, flood_, overrides_;
  std::optional<int> work_offset_;
  std::optional<motion::LengthOffset> length_offset_;
  std::optional<motion::PathControl> path_control_;
  std::optional<motion::Compensation> compensation_;
};

} // namespace restep::proof
