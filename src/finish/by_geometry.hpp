#pragma once

#include "finish/offsets.hpp"
#include "finish/stack.hpp"

#include <tl/expected.hpp>

#include <string>

namespace restep::finish {

/// Offsets of a stack whose levels do not match element by element.
///
/// The vertices of each level are projected onto the first along its normals, and those of the first onto the
/// level; the offset is the mean of all, weighted by length, without the few that lie far from the median
/// (corners that come and go). What such a mean hides is then looked for: every level is moved to where its
/// neighbours are and compared with them, everywhere. The error says in the user's words why the levels are
/// not offsets of each other. `resolution`: the program's last digit, mm.
tl::expected<Offsets, std::string> measure_by_geometry(Stack const& stack, double resolution);

} // namespace restep::finish
