#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::motion {

/// One change to the program: which line caused it, which stage made it, and why, in words for the operator.
struct Edit {
  std::uint32_t line = 0;
  std::string_view stage; ///< a registry name, static storage
  std::string why;
};

/// All edits of one run. Kept whole up to `limit`, then counted only (a clamped 100 MB program has millions).
class Edits {
public:
  explicit Edits(std::size_t limit = 5000)
      : limit_(limit) {}
  void add(std::uint32_t line, std::string_view stage, std::string why) {
    ++made_;
    if (kept_.size() < limit_) kept_.push_back({line, stage, std::move(why)});
  }
  std::vector<Edit> const& all() const { return kept_; }
  std::size_t made() const { return made_; }

private:
  std::size_t limit_;
  std::size_t made_ = 0;
  std::vector<Edit> kept_;
};

} // namespace restep::motion
