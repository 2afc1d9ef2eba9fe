#include "finish/groups.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <random>

/// New levels dealt to the groups of a pass, whatever the levels are.

using namespace restep;
using namespace restep::finish;

namespace {

// Levels from the top down in groups of at least two, the groups going down or up.
Stack drawn_stack(std::mt19937& random, bool down) {
  auto const number = [&](int least, int most) {
    return std::uniform_int_distribution<int>(least, most)(random);
  };
  Stack stack;
  std::vector<std::size_t> sizes;
  for (int g = number(2, 5); g > 0; --g)
    sizes.push_back(static_cast<std::size_t>(number(2, 6)));
  double z = 0;
  for (std::size_t g = 0; g < sizes.size(); ++g) {
    std::vector<std::size_t> group;
    for (std::size_t i = 0; i < sizes[g]; ++i) {
      group.push_back(stack.levels.size());
      stack.levels.push_back({z, {}});
      z -= 0.05 + 0.01 * number(0, 10);
    }
    if (down) std::reverse(group.begin(), group.end()); // cut upwards while the groups go down
    stack.groups.push_back(std::move(group));
  }
  if (!down) std::reverse(stack.groups.begin(), stack.groups.end());
  return stack;
}

// Levels between the stack's own highest and lowest, which stay.
std::vector<PlannedLevel> drawn_levels(std::mt19937& random, Stack const& stack, double& widest) {
  double const bottom = stack.levels.back().z;
  int const n = std::uniform_int_distribution<int>(1, 60)(random);
  std::vector<double> heights;
  for (int i = 0; i < n; ++i)
    heights.push_back(std::uniform_real_distribution<double>(bottom, 0)(random));
  std::sort(heights.rbegin(), heights.rend());
  std::vector<PlannedLevel> planned{std::size_t{0}};
  widest = 0;
  double above = 0;
  for (double const z : heights) {
    ShapedLevel level;
    level.tip = {0, z};
    planned.emplace_back(std::move(level));
    widest = std::max(widest, above - z);
    above = z;
  }
  widest = std::max(widest, above - bottom);
  planned.emplace_back(stack.levels.size() - 1);
  return planned;
}

double height(Stack const& stack, PlannedLevel const& level) {
  auto const* k = std::get_if<std::size_t>(&level);
  return k != nullptr ? stack.levels[*k].z : std::get<ShapedLevel>(level).tip.y;
}

// What stands above the deepest cut of each group when that is made, at most: up to what was cut before, or
// up to the top.
double most_above(std::vector<std::vector<double>> const& groups) {
  double most = 0, cut_from = 0;
  for (std::vector<double> const& group : groups) {
    auto const [low, high] = std::minmax_element(group.begin(), group.end());
    most = std::max(most, std::min(cut_from, 0.0) - *low);
    cut_from = *low;
  }
  return most;
}

} // namespace

TEST_CASE("moved groups cut every level once, in the order of the program's groups", "[groups]") {
  for (unsigned seed = 0; seed < 2000; ++seed) {
    std::mt19937 random(seed);
    bool const down = seed % 2 == 0;
    Stack const stack = drawn_stack(random, down);
    double widest = 0;
    std::vector<PlannedLevel> const planned = drawn_levels(random, stack, widest);
    auto const groups = in_moved_groups(stack, planned);
    if (!groups) continue;
    INFO("seed " << seed);
    std::vector<std::vector<double>> heights;
    std::size_t count = 0;
    for (auto const& group : *groups) {
      REQUIRE(!group.empty());
      heights.emplace_back();
      for (PlannedLevel const& level : group)
        heights.back().push_back(height(stack, level));
      count += group.size();
    }
    CHECK(count == planned.size());
    for (std::size_t g = 0; g < heights.size(); ++g) {
      CHECK(std::is_sorted(heights[g].begin(), heights[g].end(),
                           [&](double a, double b) { return down ? a < b : a > b; }));
      // The whole of a group lies beyond the whole of the one before.
      if (g > 0)
        CHECK((down ? heights[g].back() <= heights[g - 1].front()
                    : heights[g].back() >= heights[g - 1].front()));
    }
    // Neither way in nor way out has to go deeper.
    CHECK(heights.front().front() >= stack.first_cut().z - 1e-6);
    CHECK(heights.back().back() >= stack.last_cut().z - 1e-6);
    if (down) {
      // A first cut of a group meets no more than it did, but for less than a new step at either end.
      std::vector<std::vector<double>> own;
      for (auto const& group : stack.groups) {
        own.emplace_back();
        for (std::size_t const k : group)
          own.back().push_back(stack.levels[k].z);
      }
      CHECK(most_above(heights) <= most_above(own) + 2 * widest + 1e-6);
    }
  }
}

TEST_CASE("groups whose levels stay are the program's own groups", "[groups]") {
  for (unsigned seed = 0; seed < 200; ++seed) {
    std::mt19937 random(seed);
    Stack const stack = drawn_stack(random, seed % 2 == 0);
    std::vector<PlannedLevel> planned;
    for (std::size_t k = 0; k < stack.levels.size(); ++k)
      planned.emplace_back(k);
    auto const groups = in_moved_groups(stack, planned);
    INFO("seed " << seed);
    REQUIRE(groups.has_value());
    REQUIRE(groups->size() == stack.groups.size());
    for (std::size_t g = 0; g < groups->size(); ++g) {
      std::vector<std::size_t> own;
      for (PlannedLevel const& level : (*groups)[g])
        own.push_back(std::get<std::size_t>(level));
      CHECK(own == stack.groups[g]);
    }
  }
}
