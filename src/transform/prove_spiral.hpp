#pragma once

#include "finish/spiral.hpp"
#include "transform/transform.hpp"

#include <span>
#include <string>

namespace restep::transform {

/// Cuts a re-stepped spiral in the model as it was and as it is, puts the measured figures into the outcome's
/// report, and gives the reason why it is not the same part; empty when it is. `resolution` mm is the last
/// digit that will be written.
std::string prove_spiral(std::span<motion::Step const> before, finish::UnrolledSpiral const& spiral,
                         finish::SpiralOutcome& outcome, cutter::Tool const& tool, double resolution);

} // namespace restep::transform
