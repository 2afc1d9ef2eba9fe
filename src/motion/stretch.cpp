#include "motion/stretch.hpp"

#include <cmath>

namespace restep::motion {

// Eight at a time in a loop of constant length: g++ then works on as many at once as the processor does.
void StretchColumns::measure(std::size_t count) const {
  constexpr std::size_t lanes = 8;
  static_assert(most % lanes == 0);
  for (std::size_t i = 0; i < count; i += lanes) {
    for (std::size_t k = i; k < i + lanes; ++k) {
      double const dx = x[k + 1] - x[k], dy = y[k + 1] - y[k], dz = z[k + 1] - z[k];
      double const length = std::sqrt(dx * dx + dy * dy + dz * dz);
      // Where there is no way there is no direction: zero over anything but zero.
      double const by = length > 0 ? length : 1;
      length_[k] = length;
      along_x_[k] = dx / by;
      along_y_[k] = dy / by;
      along_z_[k] = dz / by;
    }
  }
  measured_ = count;
}

} // namespace restep::motion
