#pragma once

#include "finish/pass_report.hpp"
#include "finish/stack.hpp"
#include "transform/transform.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace restep::transform {

/// What the user is told of passes, as findings of the context.

/// That a pass stays as it is, and why.
void note_kept(Context& context, finish::PassReport const& report, text::Place const& place);

/// That levels were put above a pass's first, or could not be.
void note_extension(Context& context, finish::PassReport const& report);

/// That cuts at so many heights (from a place to a line) stay as they are, and why, so that nobody takes
/// silence for done. Nothing where no finish is asked for.
void note_unread(Context& context, std::size_t heights, text::Place const& first, std::uint32_t last_line,
                 std::string_view why, std::string hint);

/// That so many cuts at one height, which go on, were not taken for a contour. Told once, and only where a
/// finish is asked for.
void note_cleared(Context& context, std::size_t cuts, text::Place const& place);

/// That remarks between the old levels are gone.
void note_lost_remarks(Context& context, finish::PassReport const& report,
                       std::span<motion::Step const> before, std::span<motion::Step const> after);

/// The levels at either end of a stack that goes down.
struct StackEnds {
  finish::Level top, bottom;
};
/// None of a stack that goes up.
std::optional<StackEnds> ends_of(finish::Stack const& stack);

/// Two passes that follow each other: where one goes on below the other with other contours (islands that run
/// together, a pocket that parts, a wall that ends what went all round), or where something else than motion
/// stands between, that the step between their levels stays, with the cusp that it leaves on a surface as
/// steep as that of the upper pass ends. `upper` and `lower` are the reports of the two; `tool` may be null.
/// mm.
void note_junction(Context& context, StackEnds const& above, StackEnds const& below,
                   finish::PassReport const& upper, finish::PassReport const& lower, cutter::Tool const* tool,
                   text::Place const& place);

} // namespace restep::transform
