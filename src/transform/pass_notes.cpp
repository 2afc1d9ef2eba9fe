#include "transform/pass_notes.hpp"

#include "cutter/cusp.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <variant>

namespace restep::transform {

using geometry::Vec2;
using motion::Step;

void note_kept(Context& context, finish::PassReport const& report, text::Place const& place) {
  context.findings.add(text::Severity::note, "pass-kept",
                       fmt::format("pass {} was left as it was: {}", report.index, report.reason), "", place);
}

void note_extension(Context& context, finish::PassReport const& report) {
  text::Place const place{.line = report.first_line};
  if (report.extended_levels > 0)
    context.findings.add(
        text::Severity::note, "pass-extended",
        fmt::format("pass {} cuts {} levels above its first, {:.4f} mm up to tangency: what stands there it "
                    "cuts at its own feed",
                    report.index, report.extended_levels, report.extended_mm),
        "see to it that no more stands there than this tool may cut", place);
  else if (!report.not_extended.empty())
    context.findings.add(text::Severity::warning, "pass-not-extended",
                         fmt::format("pass {} was not extended: {}", report.index, report.not_extended), "",
                         place);
}

void note_lost_remarks(Context& context, finish::PassReport const& report, std::span<Step const> before,
                       std::span<Step const> after) {
  auto const remarks = [](std::span<Step const> steps) {
    return std::count_if(steps.begin(), steps.end(),
                         [](Step const& s) { return std::holds_alternative<motion::Comment>(s.event); });
  };
  if (auto const lost = remarks(before) - remarks(after); lost > 0)
    context.findings.add(
        text::Severity::note, "remarks-left-out",
        fmt::format("{} comments between the old levels of pass {} were left out: the levels they "
                    "speak of are no more",
                    lost, report.index),
        "", before.front().place);
}

void note_unread(Context& context, std::size_t heights, text::Place const& first, std::uint32_t last_line,
                 std::string_view why, std::string hint) {
  if (!context.target.finish) return;
  context.findings.add(text::Severity::note, "levels-not-read",
                       fmt::format("cuts at {} heights (lines {} to {}) were left as they were: {}", heights,
                                   first.line, last_line, why),
                       std::move(hint), first);
}

void note_cleared(Context& context, std::size_t cuts, text::Place const& place) {
  static constexpr char const* code = "too-long-for-a-level";
  auto const& all = context.findings.all();
  bool const told =
      std::any_of(all.begin(), all.end(), [](text::Finding const& finding) { return finding.code == code; });
  if (!context.target.finish || told) return;
  context.findings.add(
      text::Severity::note, code,
      fmt::format("more than {} cuts at one height were not looked through for levels: they clear material",
                  cuts),
      "if they are a contour, post it in chords of more than a few micrometres, or as arcs", place);
}

namespace {

finish::Extent extent_of(finish::Level const& level) {
  finish::Extent e;
  for (finish::Contour const& contour : level.contours)
    e.add(finish::extent_of(contour));
  return e;
}
bool overlap(finish::Extent const& a, finish::Extent const& b) {
  return a.low.x <= b.high.x && b.low.x <= a.high.x && a.low.y <= b.high.y && b.low.y <= a.high.y;
}

// The cusp of one step on a plane as steep as the pass's surface is at its lower end, um; 0 where not known.
double cusp_of_step(finish::PassReport const& upper, cutter::Tool const* tool, double step) {
  if (tool == nullptr || !tool->can_finish() || upper.meridian.pieces().empty()) return 0;
  cutter::Meridian const& meridian = upper.meridian;
  Vec2 const from = meridian.at(meridian.length());
  Vec2 const down = meridian.tangent(meridian.length());
  if (!(down.y < -1e-6)) return 0;
  cutter::Piece plane;
  plane.from = from;
  plane.to = from + step / -down.y * down;
  return 1000 * cutter::cusp_peak_to_valley(*tool, cutter::Meridian({plane}), plane.from, plane.to);
}

std::string counted(std::size_t contours) {
  return fmt::format("{} contour{}", contours, contours == 1 ? "" : "s");
}

// What becomes of the contours from one level to the next below it.
std::string change_in_words(finish::Level const& last, finish::Level const& first) {
  auto const closed = [](finish::Level const& level) { return level.contours.front().closed; };
  std::string from, to;
  if (last.contours.size() != first.contours.size()) {
    from = counted(last.contours.size()) + " at ";
    to = counted(first.contours.size()) + " at ";
  } else if (closed(last) != closed(first)) {
    from = closed(last) ? "closed contours at " : "open contours at ";
    to = closed(first) ? "closed ones at " : "open ones at ";
  }
  return fmt::format("the levels go from {}Z{:.4f} to {}Z{:.4f}", from, last.z, to, first.z);
}

} // namespace

std::optional<StackEnds> ends_of(finish::Stack const& stack) {
  if (!stack.downwards()) return std::nullopt;
  return StackEnds{stack.levels.front(), stack.levels.back()};
}

void note_junction(Context& context, StackEnds const& above, StackEnds const& below,
                   finish::PassReport const& upper, finish::PassReport const& lower, cutter::Tool const* tool,
                   text::Place const& place) {
  finish::Level const& last = above.bottom;
  finish::Level const& first = below.top;
  double const step = last.z - first.z;
  double const usual = std::max(upper.before.stepdown_max_mm, lower.before.stepdown_max_mm);
  if (step <= 0 || step > 1.5 * usual) return;
  if (!overlap(extent_of(last), extent_of(first))) return;
  double const cusp = cusp_of_step(upper, tool, step);
  context.findings.add(
      text::Severity::note, "contours-change",
      fmt::format("between pass {} and pass {} {}: the step of {:.4f} mm between them stays{}", upper.index,
                  lower.index, change_in_words(last, first), step,
                  cusp > 0 ? fmt::format(", and a cusp of about {:.1f} um", cusp) : ""),
      "post these levels with a smaller stepdown where the cusp matters", place);
}

} // namespace restep::transform
