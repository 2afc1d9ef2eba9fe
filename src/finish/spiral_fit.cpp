#include "finish/spiral_fit.hpp"

#include "finish/fit_meridian.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace restep::finish {

namespace {

using geometry::um;
// The fit wants no more, and its time grows with them.
constexpr std::size_t most_in_fit = 300;
constexpr std::size_t most_pieces = 8;

// Stations that follow each other stand close together on the surface; their mean is better than their
// digits.
std::vector<Vec2> samples_of(std::vector<SpiralStation> const& stations) {
  std::vector<Vec2> samples{stations.front().tip};
  std::size_t const together = std::max<std::size_t>(1, stations.size() / most_in_fit);
  for (std::size_t i = 1; i + together < stations.size(); i += together) {
    Vec2 mean{};
    for (std::size_t k = i; k < i + together; ++k)
      mean = mean + stations[k].tip / static_cast<double>(together);
    if (mean.y < samples.back().y) samples.push_back(mean);
  }
  samples.push_back(stations.back().tip);
  return samples;
}

tl::expected<SpiralFit, std::string> fit_within(UnrolledSpiral const& spiral,
                                                std::vector<Vec2> const& samples, double tolerance) {
  auto fit = fit_meridian(samples, tolerance);
  if (!fit) return tl::unexpected(fit.error());
  if (!fit->in_one_piece())
    return tl::unexpected(
        fmt::format("its surface is not one smooth curve but {} that do not meet", fit->sections.size()));
  SpiralFit found{fit->sections.front().meridian, fit->residual};
  // What needs so many is a curve of another kind, or several surfaces in one.
  if (found.meridian.pieces().size() > most_pieces)
    return tl::unexpected(
        fmt::format("its surface is not made of a few lines and arcs: it would take {} of them",
                    found.meridian.pieces().size()));
  if (!(found.meridian.length() > 0))
    return tl::unexpected(std::string("its turns do not go down a surface"));
  double worst = 0;
  for (SpiralStation const& s : spiral.stations)
    worst = std::max(worst, std::abs(found.meridian.signed_distance(s.tip)));
  // Points that were not fitted may stand off a little farther than those that were.
  if (worst > 2 * tolerance)
    return tl::unexpected(fmt::format("its turns are not offsets of its last one: points of one height stand "
                                      "{:.1f} um off the surface",
                                      um * worst));
  return found;
}

} // namespace

tl::expected<SpiralFit, std::string> fit_spiral(UnrolledSpiral const& spiral, double resolution) {
  std::vector<Vec2> const samples = samples_of(spiral.stations);
  // Beside the ends of a curve that is told in chords a point's offset is known to within these; elsewhere
  // to its digits. The tightest tolerance that leads to a surface tells it best.
  double const digits = std::max(resolution, 0.0003);
  double const chords = spiral.base.chord_tolerance();
  auto found = fit_within(spiral, samples, digits);
  for (double const share : {0.125, 0.25, 0.5, 1.0}) {
    if (found || chords == 0) break;
    found = fit_within(spiral, samples, digits + share * chords);
  }
  return found;
}

} // namespace restep::finish
