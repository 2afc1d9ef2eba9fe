#include "command/progress.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace restep::command {

void Progress::show(std::uint64_t done) {
  auto const now = Clock::now();
  if (whole_ == 0 || now < next_) return;
  next_ = now + std::chrono::milliseconds(100);
  double const percent = 100 * static_cast<double>(std::min(done, whole_)) / static_cast<double>(whole_);
  console_.err << fmt::format("\r{} {:3.0f} %", what_, percent) << std::flush;
  shown_ = true;
}

void Progress::clear() {
  if (shown_) console_.err << '\r' << std::string(what_.size() + 6, ' ') << '\r' << std::flush;
  shown_ = false;
}

} // namespace restep::command
