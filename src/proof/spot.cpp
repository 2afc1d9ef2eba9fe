#include "proof/spot.hpp"

#include <fmt/format.h>

namespace restep::proof {

std::string place_of(Spot const& spot) {
  return fmt::format("X{:.3f} Y{:.3f} Z{:.3f}", spot.at.x, spot.at.y, spot.at.z);
}

} // namespace restep::proof
