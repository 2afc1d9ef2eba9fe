#pragma once

#include "transform/transform.hpp"

#include <optional>
#include <span>

namespace restep::transform {

/// How the machine runs a pass: its steps at the speeds and feeds that the stages behind restep leave it.
struct PassRun {
  double seconds = 0;
  double rpm = 0;      ///< 0 when no speed was given
  double feed_max = 0; ///< mm/min, of the fastest cut
};

/// `speed`: the S that is in force when the pass begins; none when the program has given none. `tool`: its
/// number; -1 when none was named.
PassRun as_run(std::span<motion::Step const> pass, std::optional<motion::Step> const& speed, int tool,
               Context const& context);

} // namespace restep::transform
