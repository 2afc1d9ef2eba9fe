#include "finish/rail_rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

// Of the places at which an element crosses the section's line, the one nearest to where the surface has it;
// the element is taken a little longer than it is, since digits move its ends.
std::optional<double> crossing(RailPlace const& section, Segment const& s) {
  constexpr double beyond = 0.003; // mm
  if (!s.arc) {
    Vec2 const along = s.to - s.from;
    double const sine = cross(section.away, along);
    double const l2 = dot(along, along);
    if (sine * sine < 0.01 * l2) return std::nullopt; // runs along the section
    double const share = cross(s.from - section.at, section.away) / sine;
    double const over = std::max(-share, share - 1);
    if (over > 0 && over * over * l2 > beyond * beyond) return std::nullopt;
    return cross(s.from - section.at, along) / sine;
  }
  Vec2 const to_centre = s.centre - section.at;
  double const along = dot(to_centre, section.away);
  double const radius = 0.5 * (distance(s.from, s.centre) + distance(s.to, s.centre));
  double const half2 = radius * radius - (dot(to_centre, to_centre) - along * along);
  if (half2 < 0) return std::nullopt;
  std::optional<double> best;
  for (double const u : {along - std::sqrt(half2), along + std::sqrt(half2)}) {
    Vec2 const a = s.from - s.centre;
    Vec2 const b = section.at + u * section.away - s.centre;
    double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    if (angle < -beyond / std::max(radius, beyond)) angle += 2 * std::numbers::pi;
    if (angle * radius > s.length() + beyond) continue;
    if (!best || std::abs(u) < std::abs(*best)) best = u;
  }
  return best;
}

std::optional<double> crossing_of(Contour const& contour, std::size_t hint, RailPlace const& section) {
  constexpr double surely = 0.05; // mm; farther off, more elements are asked
  std::size_t const n = contour.segments.size();
  std::optional<double> best;
  for (std::size_t const beside : {std::size_t{1}, std::size_t{8}, n}) {
    std::size_t const from = hint % n + n - std::min(beside, n);
    for (std::size_t i = 0; i < std::min(2 * beside + 1, n); ++i)
      if (auto const u = crossing(section, contour.segments[(from + i) % n]);
          u && (!best || std::abs(*u) < std::abs(*best)))
        best = u;
    if (best && std::abs(*best) <= surely) return best;
  }
  return best;
}

} // namespace

tl::expected<RailRow, std::string> row_across(RailSurface const& surface,
                                              std::vector<Contour> const& contours, double z) {
  RailRow row;
  row.tips.reserve(surface.rails().size());
  row.places.reserve(surface.rails().size());
  std::vector<Contour> const meant = surface.contours_at(z);
  for (Rail const& rail : surface.rails()) {
    RailPlace const section = surface.place(rail, meant);
    auto const u = crossing_of(contours[rail.contour], rail.element, section);
    if (!u)
      return tl::unexpected(fmt::format("the level at Z{:.4f} does not pass its section at X{:.3f} Y{:.3f}",
                                        z, section.at.x, section.at.y));
    row.tips.push_back({way_at_height(rail.meridian, z) + *u, z});
    row.places.push_back({section.at + *u * section.away, section.away});
  }
  return row;
}

std::vector<Contour> contours_on_digits(std::vector<Contour> contours, double resolution) {
  auto const round = [resolution](Vec2& p) { p = {on_digits(p.x, resolution), on_digits(p.y, resolution)}; };
  for (Contour& contour : contours)
    for (Segment& s : contour.segments) {
      round(s.from);
      round(s.to);
    }
  return contours;
}

std::vector<Contour> contours_as_cut(ShapedLevel const& level) {
  std::vector<Contour> contours;
  contours.reserve(level.contours.size());
  for (ShapedContour const& shaped : level.contours) {
    Contour contour = shaped.contour;
    if (contour.closed && contour.start_share > 0) {
      auto const at = contour.segments.begin() + static_cast<std::ptrdiff_t>(contour.start_element);
      Segment first = *at;
      first.to = shaped.start;
      at->from = shaped.start;
      contour.segments.insert(at, first);
    }
    contours.push_back(std::move(contour));
  }
  return contours;
}

} // namespace restep::finish
