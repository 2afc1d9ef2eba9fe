#pragma once

#include "cutter/tool.hpp"
#include "finish/stack.hpp"
#include "motion/step.hpp"

#include <cstddef>
#include <span>
#include <string>

namespace restep::transform {

/// The steps of an operation that a pass's new steps are held against: all up to the pass, the pass itself
/// (up to `last`) and its way out, as far as that neither rises nor is a rapid.
std::span<motion::Step const> own_path(std::span<motion::Step const> operation, std::size_t last);

/// What the program's own pass says of how far its new steps may lie beside its path, mm.
struct OwnPass {
  double top = 0;      ///< its highest level
  double near = 0;     ///< its surface may be off by so much: cusps, digits, chords
  double stepdown = 0; ///< the largest; between two levels the links leave steps of that height
  double apart = 0;    ///< farthest way in plan from a level's end to the nearest end of the next one
};

/// Of a stack: `top` and `apart`; the rest is left at 0.
OwnPass own_pass(finish::Stack const& stack);

/// Compares what the program's own path and a pass's new steps cut over the whole region, and gives the
/// reason why the new ones cut where nothing is to be cut; empty when they do not.
std::string prove_region(std::span<motion::Step const> own, std::span<motion::Step const> after,
                         cutter::Tool const& tool, OwnPass const& pass);

} // namespace restep::transform
