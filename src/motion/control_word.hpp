#pragma once

#include "motion/step.hpp"

#include <map>
#include <string>
#include <vector>

namespace restep::motion {

/// One word or remark that a control's profile asks for. Comment and Carried events have their text in `text`
/// (their own view is empty), since a profile outlives no stream and a stream no profile.
struct ControlWord {
  Event event;
  std::string text{};
};
using ControlWords = std::vector<ControlWord>;

/// What a control wants to be told in its own way. {tool}, {tool_text}, {program} and {machine} in remarks
/// stand for their values.
struct ControlHabits {
  std::map<std::string, ControlWords> replace{}; ///< by replaceable_code: another name, or none
  ControlWords head{}, end{}, before_tool_change{}, after_tool_change{}, before_stop{};
};

/// The code by which `replace` knows an event: M1, M7, M8, M9, M48, M49, M60, G61, G61.1, G64, or a carried
/// code's own words without blanks. Empty for events that may not be replaced, because the cut or the spindle
/// hangs on them.
std::string replaceable_code(Event const& event);

} // namespace restep::motion
