#pragma once

#include "transform/transform.hpp"

#include <memory>

namespace restep::transform {

/// Lowers feeds above the machine's limits (max_feed per axis, max_plunge, and on arcs the acceleration);
/// never raises one, never moves a point. A limit of 0 is no limit. What cannot be judged (a feed per
/// revolution without S, an inverse-time feed from an unknown place) becomes a warning, a tapping cycle above
/// the limit an error: its feed and its spindle speed belong together.
std::unique_ptr<motion::StepSource> make_clamp_feeds(motion::StepSource& upstream, Context& context);

} // namespace restep::transform
