#include "motion/stretch.hpp"

#include <cmath>

namespace restep::motion {

// Eight at a time in a loop of constant length: g++ then works on as many at once as the processor does.
void StretchColumns::measure() const {
  constexpr std::size_t lanes = 8;
  static_assert(most % lanes == 0);
  for (std::size_t i = 0; i < cuts_; i += lanes) {
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
}

StretchColumns& StretchPool::next() {
  // Nearly always those that were given first are let go first; who holds some for longer is passed by.
  constexpr int tries = 3;
  for (int i = 0; i < tries && !all_.empty(); ++i) {
    all_.push_back(std::move(all_.front()));
    all_.pop_front();
    if (all_.back()->holders_.load(std::memory_order_acquire) == 0) return *all_.back();
  }
  return *all_.emplace_back(std::make_shared<StretchColumns>());
}

} // namespace restep::motion
