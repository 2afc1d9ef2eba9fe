#include "cutter/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

namespace restep::cutter {

namespace {

struct Unit {
  std::string_view name;
  double mm;
};

/// The inch is 25.4 mm exactly (ISO 31-1); the two spellings of mu are U+00B5 and U+03BC.
constexpr Unit units[] = {{"mm", 1},
                          {"um", 1e-3},
                          {"\xc2\xb5m", 1e-3},
                          {"\xce\xbcm", 1e-3},
                          {"uin", 25.4e-6},
                          {"\xc2\xb5in", 25.4e-6},
                          {"\xce\xbcin", 25.4e-6},
                          {"in", 25.4}};

bool is_unit_character(char c) {
  return (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80 || c == '"';
}

/// Letters to change, add, leave out or swap with their neighbour to come from one word to the other.
std::size_t edits_between(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j)
    last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      std::size_t const changed = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({changed, last[j] + 1, row[j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return last[b.size()];
}

} // namespace

std::string lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return lower;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  std::size_t const first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

tl::expected<double, std::string> take_length(std::string_view& text, bool bare_is_mm) {
  std::string_view rest = trimmed(text);
  double value = 0;
  auto const [end, error] =
      std::from_chars(rest.data(), rest.data() + rest.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || !std::isfinite(value))
    return tl::unexpected(rest.empty() ? std::string("a length is missing")
                                       : fmt::format("'{}' is not a length", rest));
  std::string_view const number = rest.substr(0, static_cast<std::size_t>(end - rest.data()));
  rest.remove_prefix(number.size());
  if (rest.starts_with(','))
    return tl::unexpected(fmt::format("'{}{}': write decimals with a point, not a comma", number, rest));
  std::string_view const behind = trimmed(rest);
  std::string const lower = lower_case(behind);
  std::size_t letters = 0;
  while (letters < lower.size() && is_unit_character(lower[letters]))
    ++letters;
  std::string_view const name = std::string_view(lower).substr(0, letters);
  for (Unit const& unit : units)
    if (name == unit.name) {
      text = behind.substr(letters);
      return value * unit.mm;
    }
  bool const bare = name.empty() || (bare_is_mm && name.starts_with('r'));
  if (bare && bare_is_mm) {
    text = behind;
    return value;
  }
  if (bare) return tl::unexpected(fmt::format("'{}' has no unit: write um, mm, in or uin behind it", number));
  return tl::unexpected(
      fmt::format("'{}' is not a unit of length: write um, mm, in or uin", behind.substr(0, letters)));
}

std::string_view nearest_word(std::string_view word, std::span<std::string_view const> known) {
  std::string_view best;
  std::size_t fewest = std::min<std::size_t>(3, (word.size() + 1) / 2 + 1);
  for (std::string_view const candidate : known) {
    std::size_t const edits = edits_between(word, candidate);
    if (edits < fewest && edits * 2 < std::max(word.size(), candidate.size())) {
      fewest = edits;
      best = candidate;
    }
  }
  return best;
}

std::string plain_number(double value) {
  std::string text = fmt::format("{:.6f}", value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

} // namespace restep::cutter
