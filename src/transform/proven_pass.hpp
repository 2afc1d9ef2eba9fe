#pragma once

#include "finish/pass.hpp"

#include <functional>
#include <span>
#include <string>
#include <vector>

namespace restep::transform {

/// A stack that was re-stepped and cut in the material model, or that was kept.
struct ProvenPass {
  finish::PassOutcome outcome;
  std::string trouble; ///< why the re-stepped pass did not pass its proof; empty when it did
};

/// Re-steps a stack and cuts it in the model as it was and as it is.
///
/// Where the written digits put a cusp above the target the levels are planned closer, so that the cusps of
/// the written coordinates meet it; where no plan does, the report says which target the digits can hold.
/// What the new levels may add to the program's own error is what the last written digit is worth along a
/// normal, and what the levels themselves scatter about the surface.
///
/// `before_proof` sees the new steps before they are cut in the model (for tests of the proof); empty:
/// nobody.
ProvenPass restep_and_prove(std::span<motion::Step const> operation, finish::Stack const& stack,
                            cutter::Tool const* tool, int tool_number, finish::PassRequest const& request,
                            std::function<void(std::vector<motion::Step>&)> const& before_proof);

} // namespace restep::transform
