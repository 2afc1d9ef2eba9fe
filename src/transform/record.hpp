#pragma once

#include "transform/transform.hpp"

#include <string>
#include <string_view>
#include <utility>

namespace restep::transform {

/// Records an edit. `words` is a callable that gives the text: it is not asked once the edits are only
/// counted.
template <class Words>
void record(Context& context, std::uint32_t line, std::string_view stage, Words&& words) {
  bool const only_counted = context.edits.made() > context.edits.all().size();
  context.edits.add(line, stage, only_counted ? std::string{} : std::forward<Words>(words)());
}
template <class Words>
void record(Context& context, motion::Step const& cause, std::string_view stage, Words&& words) {
  record(context, cause.place.line, stage, std::forward<Words>(words));
}

/// Tells a run of like edits on consecutive lines from a new one, so that the reason need be given only once.
class Repetition {
public:
  /// True when the last edit had the same `kind` and stood on this or the previous line.
  bool again(int kind, std::uint32_t line) {
    bool const same = kind == kind_ && line - line_ <= 1;
    kind_ = kind;
    line_ = line;
    return same;
  }

private:
  int kind_ = -1;
  std::uint32_t line_ = 0;
};

} // namespace restep::transform
