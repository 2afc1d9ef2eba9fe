#pragma once

#include "transform/transform.hpp"

#include <optional>
#include <span>

namespace restep::transform {

/// Seconds that the machine takes for a pass: its steps at the speeds and feeds that the stages behind restep
/// leave it. `speed`: the S that is in force when the pass begins; none when the program has given none.
/// `tool`: its number; -1 when none was named.
double seconds_as_run(std::span<motion::Step const> pass, std::optional<motion::Step> const& speed, int tool,
                      Context const& context);

} // namespace restep::transform
