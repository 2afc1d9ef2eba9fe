#pragma once

#include <algorithm>
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
    auto const row = std::find_if(counts_.begin(), counts_.end(),
                                  [stage](StageCount const& count) { return count.stage == stage; });
    row == counts_.end() ? counts_.push_back({stage, 1}) : void(++row->edits);
    if (kept_.size() < limit_) kept_.push_back({line, stage, std::move(why)});
  }
  std::vector<Edit> const& all() const { return kept_; }
  std::size_t made() const { return made_; }

  /// How many edits one stage made.
  struct StageCount {
    std::string_view stage;
    std::size_t edits = 0;
  };
  /// Of each stage that made any, in the order of their first edits; counts beyond the limit too.
  std::vector<StageCount> const& by_stage() const { return counts_; }

private:
  std::size_t limit_;
  std::size_t made_ = 0;
  std::vector<Edit> kept_;
  std::vector<StageCount> counts_;
};

} // namespace restep::motion
