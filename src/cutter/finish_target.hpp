#pragma once

#include "cutter/cusp.hpp"

#include <tl/expected.hpp>

#include <string>
#include <string_view>

namespace restep::cutter {

enum class FinishKind : unsigned char { cusp, ra, rz };

/// What the drawing asks for. Grades (N1 ... N12) become Ra by ISO 1302:1992.
struct FinishTarget {
  FinishKind kind = FinishKind::cusp;
  double limit = 0; ///< mm
  std::string text; ///< as the user wrote it
};

/// Reads "cusp:1um", "ra:0.4um", "rz:1.6um", "n5" (case ignored; um, mm, in, uin). The error says what was
/// expected.
tl::expected<FinishTarget, std::string> parse_finish(std::string_view text);

/// Ra of the theoretical profile between two levels, mm: mean deviation from the mean line of the real
/// outline (arcs, flats, sides), measured normal to the surface. Exact piecewise integration.
double ra_between(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower);

/// The figure the target limits (cusp = Rz of an ideal periodic profile, or Ra) for one pair of levels, mm.
double finish_figure(FinishTarget const& target, Tool const& tool, Meridian const& meridian, Vec2 upper,
                     Vec2 lower);

} // namespace restep::cutter
