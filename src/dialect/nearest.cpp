#include "dialect/nearest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <vector>

namespace restep::dialect {
namespace {

/// Letters to insert, remove or replace until one word is the other.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      std::size_t const replaced = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({replaced, row[j] + 1, row[j + 1] + 1});
    }
  }
  return row.back();
}

} // namespace

std::string nearest(std::string_view word, std::span<std::string const> candidates) {
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(word.size() / 3, 1) + 1;
  for (auto const& candidate : candidates) {
    std::size_t const distance = edit_distance(word, candidate);
    if (distance < best_distance) {
      best = candidate;
      best_distance = distance;
    }
  }
  return best;
}

std::string did_you_mean(std::string_view word, std::span<std::string const> candidates) {
  auto const best = nearest(word, candidates);
  return best.empty() ? std::string{} : fmt::format("did you mean '{}'?", best);
}

} // namespace restep::dialect
