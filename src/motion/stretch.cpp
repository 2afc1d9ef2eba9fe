#include "motion/stretch.hpp"

#include <cmath>

namespace restep::motion {

namespace {

// Over places of which the compiler is told that they do not overlap: g++ then works on as many at once as
// the processor does.
void measure_ways(std::size_t count, double const* __restrict x, double const* __restrict y,
                  double const* __restrict z, double* __restrict lengths, double* __restrict along_x,
                  double* __restrict along_y, double* __restrict along_z) {
  for (std::size_t k = 0; k < count; ++k) {
    double const dx = x[k + 1] - x[k];
    double const dy = y[k + 1] - y[k];
    double const dz = z[k + 1] - z[k];
    double const length = std::sqrt(dx * dx + dy * dy + dz * dz);
    // Where there is no way there is no direction: zero over anything but zero.
    double const by = length > 0 ? length : 1;
    lengths[k] = length;
    along_x[k] = dx / by;
    along_y[k] = dy / by;
    along_z[k] = dz / by;
  }
}

} // namespace

// As std::call_once, but for the call to the system that it makes each time.
void StretchColumns::measure_once() const {
  Measured state = Measured::no;
  if (measured_.compare_exchange_strong(state, Measured::now, std::memory_order_acquire)) {
    measure();
    measured_.store(Measured::yes, std::memory_order_release);
    measured_.notify_all();
    return;
  }
  while ((state = measured_.load(std::memory_order_acquire)) != Measured::yes)
    measured_.wait(state, std::memory_order_acquire);
}

void StretchColumns::measure() const {
  constexpr std::size_t lanes = 8; // in whole blocks: nothing is left over
  static_assert(most % lanes == 0);
  measure_ways((cuts_ + lanes - 1) / lanes * lanes, x.data(), y.data(), z.data(), length_.data(),
               along_x_.data(), along_y_.data(), along_z_.data());
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
