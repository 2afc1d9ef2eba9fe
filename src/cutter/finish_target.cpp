#include "cutter/finish_target.hpp"

#include "cutter/cusp.hpp"
#include "cutter/roughness.hpp"
#include "cutter/tapered.hpp"
#include "cutter/words.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cstddef>

namespace restep::cutter {

namespace {

/// Ra of the roughness grade numbers N1 to N12, um (ISO 1302:1992, table of grade numbers).
constexpr std::array grades = {0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25.0, 50.0};

constexpr std::array<std::string_view, 3> finish_names = {"cusp", "ra", "rz"};
constexpr std::array finish_kinds = {FinishKind::cusp, FinishKind::ra, FinishKind::rz};

constexpr std::string_view finish_example = "write a finish as 'cusp:1um', 'ra:0.4um', 'rz:1.6um' or 'n5'";

tl::expected<FinishTarget, std::string> parse_grade(std::string_view text, std::string_view digits) {
  unsigned grade = 0;
  auto const [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), grade);
  bool const whole = error == std::errc{} && end == digits.data() + digits.size();
  if (!whole || grade < 1 || grade > grades.size())
    return tl::unexpected(
        fmt::format("'{}' is not a roughness grade: they run from N1 to N{}", text, grades.size()));
  return FinishTarget{FinishKind::ra, grades[grade - 1] / 1000, std::string(text)};
}

} // namespace

tl::expected<FinishTarget, std::string> parse_finish(std::string_view text) {
  std::string_view const whole = trimmed(text);
  std::string const lower = lower_case(whole);
  if (lower.size() > 1 && lower[0] == 'n' && lower[1] >= '0' && lower[1] <= '9')
    return parse_grade(whole, std::string_view(lower).substr(1));
  std::size_t const colon = lower.find(':');
  std::string_view const word = trimmed(std::string_view(lower).substr(0, colon));
  for (std::size_t i = 0; i < finish_kinds.size(); ++i) {
    if (word != finish_names[i]) continue;
    if (colon == std::string::npos)
      return tl::unexpected(fmt::format("'{}': the figure is missing; {}", text, finish_example));
    std::string_view rest = whole.substr(colon + 1);
    auto const limit = take_length(rest, false);
    if (!limit) return tl::unexpected(fmt::format("'{}': {}", text, limit.error()));
    if (!trimmed(rest).empty())
      return tl::unexpected(fmt::format("'{}': '{}' is too much; {}", text, trimmed(rest), finish_example));
    if (!(*limit > 0)) return tl::unexpected(fmt::format("'{}': the figure must be above 0", text));
    return FinishTarget{finish_kinds[i], *limit, std::string(whole)};
  }
  std::string_view const near = nearest_word(word, finish_names);
  if (colon != std::string::npos && !near.empty())
    return tl::unexpected(fmt::format("'{}' is not a finish; did you mean '{}'?", word, near));
  return tl::unexpected(fmt::format("'{}' is not a finish; {}", text, finish_example));
}

double ra_between(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower) {
  // Where two levels meet on a cone the profile is not made of arcs and flats alone: Ra is at most half of
  // the height.
  Vec2 const raise{0, tool.corner_radius};
  if (meets_on_cone(tool, upper + raise, lower + raise)) return cusp_height(tool, meridian, upper, lower) / 2;
  return profile_between(tool, meridian, upper, lower).ra;
}

double finish_figure(FinishTarget const& target, Tool const& tool, Meridian const& meridian, Vec2 upper,
                     Vec2 lower) {
  return target.kind == FinishKind::ra ? ra_between(tool, meridian, upper, lower)
                                       : cusp_peak_to_valley(tool, meridian, upper, lower);
}

} // namespace restep::cutter
