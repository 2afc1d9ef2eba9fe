#pragma once

#include "motion/step.hpp"

#include <variant>

namespace restep::transform {

/// What turns and what flows, as the steps seen so far leave it.
struct SpindleState {
  motion::Rotation rotation = motion::Rotation::stop;
  bool mist = false, flood = false;

  bool turns() const { return rotation != motion::Rotation::stop; }
  bool wet() const { return mist || flood; }

  void take(motion::Event const& event) {
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) {
      rotation = turn->rotation;
    } else if (auto const* coolant = std::get_if<motion::Coolant>(&event)) {
      if (coolant->kind == motion::CoolantKind::off) mist = flood = false;
      if (coolant->kind == motion::CoolantKind::mist) mist = true;
      if (coolant->kind == motion::CoolantKind::flood) flood = true;
    } else if (std::holds_alternative<motion::ToolChange>(event)) {
      rotation = motion::Rotation::stop; // NISTIR 6556, 3.6.3: stopped afterwards, coolant unchanged
    } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
      if (stop->kind == motion::StopKind::end || stop->kind == motion::StopKind::end_rewind) *this = {};
    }
  }
};

} // namespace restep::transform
