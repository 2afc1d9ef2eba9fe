#include "text/finding.hpp"

#include "text/utf8.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

namespace restep::text {

namespace {

// A line up to `whole` bytes is shown as it is; of a longer one `around` bytes on either side of the caret.
constexpr std::size_t whole = 120;
constexpr std::size_t around = 50;
constexpr std::string_view gap = "...";

void cut_line(Finding& finding, std::string_view line) {
  if (line.size() <= whole) {
    finding.line_text = line;
    return;
  }
  std::size_t const caret = std::min<std::size_t>(finding.column == 0 ? 0 : finding.column - 1, line.size());
  std::size_t begin = caret > around + gap.size() ? caret - around : 0;
  std::size_t end = std::min(line.size(), std::max(caret + around, begin + whole - 2 * gap.size()));
  while (begin < caret && is_utf8_continuation(line[begin]))
    ++begin;
  while (end > caret && end < line.size() && is_utf8_continuation(line[end]))
    --end;
  if (begin > 0) {
    finding.line_text = gap;
    finding.cut = static_cast<std::uint32_t>(begin - gap.size());
  }
  finding.line_text += line.substr(begin, end - begin);
  if (end < line.size()) finding.line_text += gap;
}

} // namespace

std::string_view name_of(Severity severity) {
  switch (severity) {
  case Severity::note: return "note";
  case Severity::warning: return "warning";
  case Severity::error: return "error";
  }
  return "error";
}

Findings::Tally& Findings::tally_of(std::string const& code) {
  auto const tally =
      std::find_if(tallies_.begin(), tallies_.end(), [&](Tally const& t) { return t.code == code; });
  return tally == tallies_.end() ? tallies_.emplace_back(Tally{code, 0, 0}) : *tally;
}

void Findings::add(Finding finding) {
  ++by_severity_[static_cast<std::size_t>(finding.severity)];
  Tally& tally = tally_of(finding.code);
  ++tally.made;
  if (tally.kept == limit_per_code_) return;
  ++tally.kept;
  kept_.push_back(std::move(finding));
}

void Findings::add(Findings const& others) {
  for (std::size_t i = 0; i < std::size(by_severity_); ++i)
    by_severity_[i] += others.by_severity_[i];
  for (Finding const& finding : others.kept_) {
    Tally& tally = tally_of(finding.code);
    if (tally.kept == limit_per_code_) continue;
    ++tally.kept;
    kept_.push_back(finding);
  }
  for (Tally const& tally : others.tallies_)
    tally_of(tally.code).made += tally.made;
}

void Findings::add(Severity severity, std::string code, std::string message, std::string hint, Place place,
                   std::string_view line_text, Span span) {
  Finding finding{severity, std::move(code), std::move(message), std::move(hint), place.line, 0, 0, {}, 0};
  finding.column = span.begin + 1;
  finding.length = std::max<std::uint32_t>(1, span.end > span.begin ? span.end - span.begin : 0);
  cut_line(finding, line_text);
  add(std::move(finding));
}

void Findings::add(Severity severity, std::string code, std::string message, std::string hint, Place place) {
  add(Finding{severity, std::move(code), std::move(message), std::move(hint), place.line, 0, 0, {}, 0});
}

std::size_t Findings::count(Severity severity) const {
  return by_severity_[static_cast<std::size_t>(severity)];
}

std::size_t Findings::left_out(std::string_view code) const {
  auto const tally =
      std::find_if(tallies_.begin(), tallies_.end(), [&](Tally const& t) { return t.code == code; });
  return tally == tallies_.end() ? 0 : tally->made - tally->kept;
}

std::string printable(std::string_view text) {
  std::string shown;
  shown.reserve(text.size());
  for (std::size_t at = 0; at < text.size();)
    at += append_printable(shown, text.substr(at));
  return shown;
}

std::string format(Finding const& finding, std::string_view program_name) {
  std::string out = printable(program_name);
  auto to = std::back_inserter(out);
  if (finding.line != 0) fmt::format_to(to, ":{}", finding.line);
  if (finding.line != 0 && finding.column != 0) fmt::format_to(to, ":{}", finding.column);
  fmt::format_to(to, ": {}: {}\n", name_of(finding.severity), printable(finding.message));

  if (finding.column > finding.cut && !(finding.line_text.empty() && finding.column > 1)) {
    std::string_view const line = finding.line_text;
    std::size_t const begin = std::min<std::size_t>(finding.column - 1 - finding.cut, line.size());
    std::size_t const length = std::min<std::size_t>(finding.length, line.size() - begin);
    // Blank by blank as wide as what stands above: an escaped byte takes four columns, a UTF-8 character one.
    std::size_t const lead = columns(printable(line.substr(0, begin)));
    std::size_t const marks = std::max<std::size_t>(1, columns(printable(line.substr(begin, length))));
    fmt::format_to(to, "{}\n{}^{}\n", printable(line), std::string(lead, ' '), std::string(marks - 1, '~'));
  } else if (!finding.line_text.empty()) {
    fmt::format_to(to, "{}\n", printable(finding.line_text));
  }
  if (!finding.hint.empty()) fmt::format_to(to, "  help: {}\n", printable(finding.hint));
  return out;
}

} // namespace restep::text
