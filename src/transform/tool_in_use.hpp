#pragma once

#include "cutter/tool.hpp"
#include "motion/step.hpp"

#include <variant>

namespace restep::transform {

/// Follows which tool cuts: the one that was changed last; in a program without M6 the one that was named
/// last, since it is put in by hand; in a program that names none the one tool there is.
class ToolInUse {
public:
  explicit ToolInUse(cutter::ToolTable const& tools)
      : tools_(tools) {}

  void see(motion::Step const& step) {
    if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      number_ = change->tool;
      changed_ = true;
    } else if (auto const* select = std::get_if<motion::ToolSelect>(&step.event);
               select != nullptr && !changed_) {
      number_ = select->tool;
    }
  }

  /// -1: never named.
  int number() const { return number_; }

  /// As the tool table describes it; null where it does not.
  cutter::Tool const* tool() const {
    if (number_ < 0) return tools_.all().size() == 1 ? &tools_.all().front() : nullptr;
    return tools_.find(number_);
  }

private:
  cutter::ToolTable const& tools_;
  int number_ = -1;
  bool changed_ = false;
};

} // namespace restep::transform
