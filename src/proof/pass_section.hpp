#pragma once

#include "proof/pass_model.hpp"

#include <cstddef>
#include <vector>

namespace restep::proof {

/// The straight line of a section in plan: where it stands on the intended contour at d = 0, and the way to
/// the air.
struct SectionLine {
  geometry::Vec2 at{}, away{};
};

/// A vertical section and the element of the intended contour that it is normal to.
struct Section {
  std::size_t contour = 0, element = 0;
  SectionLine line;
  /// The element passes it at every offset; at a corner it may have ended before.
  bool everywhere = true;
};

/// +1 where the air lies left of the contours' course or either side may be it, -1 where right.
double side(IntendedSurface const& surface);

/// The intended contour at d = 0.
std::vector<finish::Segment> base_of(IntendedSurface const& surface, std::size_t contour);

/// The sections of a pass: at both ends of every element (just inside, where the normal is the element's own)
/// and in its middle; where a corner makes an element longer or shorter from level to level, so at the first,
/// the middle and the last offset. `bases` are the intended contours at d = 0.
std::vector<Section> sections_of(IntendedSurface const& surface,
                                 std::vector<std::vector<finish::Segment>> const& bases);

/// False where the section's element has ended at a corner when its contour stands at offset d.
bool passes_at(IntendedSurface const& surface, Section const& section, double d);

/// Adds the distances along the section line at which it crosses an element (the element taken a little
/// longer than it is: digits move its ends). Chords are taken as the curve that they stand for: where their
/// vertices lie along it differs from level to level and says nothing about the surface.
void crossings(SectionLine const& line, finish::Segment const& s, double bend, std::vector<double>& out);

} // namespace restep::proof
