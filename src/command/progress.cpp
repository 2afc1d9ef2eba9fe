#include "command/progress.hpp"

#include "report/program_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <utility>

namespace restep::command {

void Progress::show(std::uint64_t done) {
  auto const now = Clock::now();
  if (whole_ == 0 || now < next_) return;
  next_ = now + std::chrono::milliseconds(100);
  double const percent = 100 * static_cast<double>(std::min(done, whole_)) / static_cast<double>(whole_);
  double const seconds = std::chrono::duration<double>(now - start_).count();
  double const rate = static_cast<double>(done) / seconds;
  double const left = rate > 0 ? static_cast<double>(whole_ - std::min(done, whole_)) / rate : 0;
  std::string const line =
      fmt::format("{} {:3.0f} %  {:.1f} MB/s  {} left", what_, percent, rate / 1e6, report::duration(left));
  std::size_t const old = std::exchange(shown_, line.size());
  console_.err << '\r' << line << std::string(old > shown_ ? old - shown_ : 0, ' ') << std::flush;
}

void Progress::clear() {
  if (shown_ != 0) console_.err << '\r' << std::string(shown_, ' ') << '\r' << std::flush;
  shown_ = 0;
}

} // namespace restep::command
