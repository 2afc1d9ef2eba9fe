#pragma once

#include "motion/step.hpp"

#include <deque>
#include <string>
#include <variant>

namespace restep::motion {

/// Copies the text that a step views (of a comment, or of carried words) to `texts`, which must live as long
/// as the step: what it was read from may then be given back.
inline void keep_text(Step& step, std::deque<std::string>& texts) {
  if (auto* const comment = std::get_if<Comment>(&step.event))
    comment->text = texts.emplace_back(comment->text);
  else if (auto* const carried = std::get_if<Carried>(&step.event))
    carried->text = texts.emplace_back(carried->text);
}

} // namespace restep::motion
