#pragma once

#include "cutter/tool.hpp"
#include "finish/pass.hpp"

#include <span>
#include <string>

namespace restep::transform {

/// Cuts a pass that was re-stepped on rails in the model as it was and as it is, puts the measured figures
/// into the outcome's report, and gives the reason why it is not the same part; empty when it is.
/// `resolution` mm is the last digit that will be written.
std::string prove_rails(std::span<motion::Step const> before, finish::PassOutcome& outcome,
                        cutter::Tool const& tool, double resolution);

} // namespace restep::transform
