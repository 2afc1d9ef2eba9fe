#include "finish/groups.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <utility>

namespace restep::finish {

namespace {

double height_of(Stack const& stack, PlannedLevel const& level) {
  if (auto const* k = std::get_if<std::size_t>(&level)) return stack.levels[*k].z;
  return std::get<ShapedLevel>(level).tip.y;
}

} // namespace

bool is_own(Stack const& stack, PlannedLevel const& planned, Level const& level) {
  auto const* k = std::get_if<std::size_t>(&planned);
  return k != nullptr && &stack.levels[*k] == &level;
}

std::vector<std::vector<PlannedLevel>> in_cutting_order(Stack const& stack,
                                                        std::vector<PlannedLevel> planned) {
  if (!stack.grouped()) {
    if (!stack.downwards()) std::reverse(planned.begin(), planned.end());
    return {std::move(planned)};
  }
  // Group g at 2 g, what lies between it and the next at 2 g + 1.
  std::size_t const groups = stack.groups.size();
  std::vector<std::vector<PlannedLevel>> parts(2 * groups - 1);
  // Counted along the way that the groups go.
  double const way =
      stack.levels[stack.groups.back().front()].z < stack.levels[stack.groups.front().front()].z ? -1 : 1;
  auto const along = [&](std::size_t k) { return way * stack.levels[k].z; };
  // Within a group the levels go against the way of the groups: it begins with its farthest level.
  std::reverse(planned.begin(), planned.end());
  if (way > 0) std::reverse(planned.begin(), planned.end());
  for (PlannedLevel& level : planned) {
    double const at = way * height_of(stack, level);
    std::size_t g = 0;
    while (g + 1 < groups && at > along(stack.groups[g].front()))
      ++g;
    bool const before = at < along(stack.groups[g].back()) && g > 0;
    parts[before ? 2 * g - 1 : 2 * g].push_back(std::move(level));
  }
  std::vector<std::vector<PlannedLevel>> out;
  for (std::size_t g = 0; g < groups; ++g) {
    std::vector<PlannedLevel> group = std::move(parts[2 * g]);
    auto const join = [&](std::vector<PlannedLevel>& between, bool in_front) {
      group.insert(in_front ? group.begin() : group.end(), std::make_move_iterator(between.begin()),
                   std::make_move_iterator(between.end()));
      between.clear();
    };
    bool const last = g + 1 == groups;
    if (g > 0 && !last) join(parts[2 * g - 1], false);
    if (g > 0 && g + 2 == groups) join(parts[2 * g + 1], true);
    if (last && g > 0 && !parts[2 * g - 1].empty()) out.push_back(std::move(parts[2 * g - 1]));
    if (!group.empty()) out.push_back(std::move(group));
  }
  return out;
}

std::optional<std::vector<std::vector<PlannedLevel>>> in_moved_groups(Stack const& stack,
                                                                      std::vector<PlannedLevel> planned) {
  std::size_t const groups = stack.groups.size();
  std::size_t const n = planned.size();
  auto const first_of = [&](std::size_t g) { return stack.levels[stack.groups[g].front()].z; };
  bool const down = first_of(groups - 1) < first_of(0);
  if (!down) std::reverse(planned.begin(), planned.end());
  auto const below = [&](std::size_t i, double z) { return height_of(stack, planned[i]) < z - same_height; };
  // Where each group begins along the way that the groups go. Its farthest level is cut first.
  std::vector<std::size_t> begins(groups + 1, n);
  begins[0] = 0;
  std::size_t at = 0;
  for (std::size_t g = 0; g + 1 < groups; ++g) {
    double const z = first_of(g);
    while (at < n && (down ? !below(at, z) : at == 0 || below(at - 1, z)))
      ++at;
    begins[g + 1] = at;
  }
  // The last cut is where the last group begins; the way out goes up from there.
  std::size_t& last = begins[groups - 1];
  double const last_cut = stack.last_cut().z;
  while (last > 0 && last < n && below(last, last_cut))
    down ? --last : ++last;
  for (std::size_t g = 1; g + 1 < groups; ++g)
    begins[g] = std::min(begins[g], last);
  if (begins[1] == 0 || last == n || below(last, last_cut)) return std::nullopt;
  std::vector<std::vector<PlannedLevel>> out;
  for (std::size_t g = 0; g < groups; ++g) {
    auto const from = planned.begin() + static_cast<std::ptrdiff_t>(begins[g]);
    auto const to = planned.begin() + static_cast<std::ptrdiff_t>(begins[g + 1]);
    if (from == to) continue;
    out.emplace_back(std::make_move_iterator(from), std::make_move_iterator(to));
    std::reverse(out.back().begin(), out.back().end());
  }
  return out;
}

std::vector<MeridianSection> sections_between_fixed(MeridianFit const& fit, Stack const& stack,
                                                    std::vector<geometry::Vec2> const& tips) {
  if (!stack.grouped()) return fit.sections;
  std::vector<std::size_t> stay{stack.groups.front().front(), stack.groups.back().back()};
  std::sort(stay.begin(), stay.end());
  std::vector<MeridianSection> parts;
  for (MeridianSection const& section : fit.sections) {
    MeridianSection rest = section;
    double from = 0;
    for (std::size_t const k : stay) {
      if (k <= rest.first || k >= rest.last) continue;
      double const here = section.meridian.nearest(tips[k]);
      parts.push_back({rest.first, k, section.meridian.part(from, here)});
      rest.first = k;
      from = here;
    }
    if (from > 0) rest.meridian = section.meridian.part(from, section.meridian.length());
    parts.push_back(std::move(rest));
  }
  return parts;
}

std::string why_no_order(Stack const& stack) {
  if (!stack.grouped() || !stack.alternates()) return {};
  return "its levels are cut in groups and in alternating direction: no order of new levels keeps both";
}

std::string said_of_groups(Stack const& stack, std::string const& why_ends_stay, double cusp_min_um,
                           double target_um) {
  if (!stack.grouped()) return {};
  std::string text = "; in groups as the program has them";
  // Equal cusps are the best that a number of levels can do; a part between two levels that stay may need its
  // number for little more than the one below.
  if (cusp_min_um < 0.9 * target_um)
    text += fmt::format("; the first and the last level that it cuts stay where they are{}, and what lies "
                        "between them and the ends comes out finer: cusps from {:.2f} um",
                        why_ends_stay.empty() ? "" : " (" + why_ends_stay + ")", cusp_min_um);
  return text;
}

} // namespace restep::finish
