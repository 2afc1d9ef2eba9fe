#include "cutter/cutting_data.hpp"
#include "proof/event_text.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::report {

using proof::plain_number;

namespace {

/// Feed and chip load over a span of cutting time.
struct Span {
  double from = 0, to = 0; ///< s
  double feed = 0;         ///< mm/min
  double chip = 0;         ///< mm; 0 where the flutes or the spindle are not known
};

int flutes_of(ProgramReport const& report, int tool) {
  for (UsedTool const& used : report.tools)
    if (used.number == tool) return used.flutes;
  return 0;
}

std::vector<Span> spans_of(ProgramReport const& report, Toolpath const& path) {
  std::vector<Span> spans;
  double now = 0;
  for (Stretch const& stretch : path.stretches()) {
    if (stretch.kind != StretchKind::cut || !(stretch.feed > 0)) continue;
    double const length = std::hypot(stretch.to[0] - stretch.from[0], stretch.to[1] - stretch.from[1],
                                     stretch.to[2] - stretch.from[2]);
    int const flutes = flutes_of(report, stretch.tool);
    bool const known = flutes > 0 && stretch.rpm > 0;
    Span span{now, now + length / stretch.feed * 60, stretch.feed,
              known ? cutter::feed_per_tooth(stretch.feed, stretch.rpm, flutes) : 0};
    now = span.to;
    if (!spans.empty() && spans.back().feed == span.feed && spans.back().chip == span.chip)
      spans.back().to = span.to;
    else
      spans.push_back(span);
  }
  return spans;
}

/// Low and high over equal spans of time where there are too many steps to draw.
std::string steps_path(std::vector<Span> const& spans, double Span::*value, Frame const& frame) {
  constexpr std::size_t most = 2400;
  std::string d;
  if (spans.size() <= most) {
    double last = -1;
    for (Span const& span : spans) {
      d += (last < 0 ? "M" + px(frame.x.at(span.from)) + " " : "V") + px(frame.y.at(span.*value)) + "H" +
           px(frame.x.at(span.to));
      last = span.*value;
    }
    return d;
  }
  double const whole = spans.back().to;
  std::size_t at = 0;
  constexpr int columns = 600;
  for (int column = 0; column < columns; ++column) {
    double const until = whole * (column + 1) / columns;
    double low = spans[at].*value, high = low;
    while (at + 1 < spans.size() && spans[at].to < until) {
      ++at;
      low = std::min(low, spans[at].*value);
      high = std::max(high, spans[at].*value);
    }
    double const x = frame.x.at(whole * (column + 0.5) / columns);
    d += fmt::format("M{0} {1}V{2}", px(x), px(frame.y.at(low) + 0.5), px(frame.y.at(high) - 0.5));
  }
  return d;
}

std::string along_time(std::vector<Span> const& spans, double Span::*value, std::string_view id,
                       char const* title, char const* unit) {
  double high = 0;
  for (Span const& span : spans)
    high = std::max(high, span.*value);
  if (high <= 0) return {};
  double const whole = spans.back().to;
  bool const minutes = whole > 300;
  double const divisor = minutes ? 60 : 1;
  Frame frame{{0, whole / divisor, 56, 640, false},
              {0, high * 1.1, 200, 30, false},
              minutes ? "cutting time, min" : "cutting time, s",
              unit};
  std::string content = frame.svg();
  frame.x.to = whole;
  content += fmt::format("<path class=\"line after\" d=\"{}\"/>", steps_path(spans, value, frame));
  return fmt::format("<figure class=\"wide chart\" data-chart=\"{}\">", id) +
         figure_svg(id, 700, 240, title, "Stepped line along the cutting time.", content) + "<figcaption>" +
         title + "</figcaption></figure>";
}

} // namespace

FeedSteps feed_steps(ProgramReport const& report, Toolpath const& path) {
  constexpr std::size_t most = 20'000; // more are drawn as they stand
  FeedSteps steps;
  auto const spans = spans_of(report, path);
  if (spans.size() > most) return steps;
  for (Span const& span : spans) {
    steps.seconds.push_back(span.to);
    steps.feed.push_back(span.feed);
    steps.chip.push_back(span.chip);
  }
  return steps;
}

std::string feed_section(ProgramReport const& report, Toolpath const& path) {
  auto const spans = spans_of(report, path);
  if (spans.empty()) return {};
  std::string text = "<section id=\"feeds\"><h2>Feed and chip load</h2>";
  if (report.feeds.clamped != 0)
    text += fmt::format(
        "<p>{} feeds were lowered to the machine's limits, the lowest to {} % of what was programmed.</p>",
        report.feeds.clamped, plain_number(report.feeds.lowest_ratio * 100, 1));
  text += along_time(spans, &Span::feed, "feed", "Programmed feed along the cutting time", "mm/min");
  std::string const chip = along_time(spans, &Span::chip, "chip",
                                      "Chip load: feed per tooth along the cutting time", "mm per tooth");
  text +=
      chip.empty()
          ? "<p class=\"remark\">No chip load: the tool table names no flutes, or the spindle speed is not "
            "known.</p>"
          : chip;
  return text + "<p class=\"remark\">Time here is length divided by feed, without rapids and without "
                "acceleration.</p>"
                "</section>\n";
}

std::string time_section(ProgramReport const& report, PageKind kind) {
  bool const both = kind == PageKind::rewrite;
  std::string text = "<section id=\"time\"><h2>Time</h2>";
  text += both ? fmt::format("<p>Whole program: <b>{}</b> before, <b>{}</b> after.</p>",
                             duration(report.seconds_before), duration(report.seconds_after))
               : fmt::format("<p>Whole program: <b>{}</b>.</p>", duration(report.seconds_before));
  if (report.passes.empty()) return text + "</section>\n";
  double longest = 1e-9;
  for (finish::PassReport const& pass : report.passes)
    longest = std::max({longest, pass.before.time_s, pass.after.time_s});
  constexpr std::size_t most = 40;
  std::size_t const shown = std::min(most, report.passes.size());
  double const row = both ? 60 : 42;
  std::string content;
  double y = 8;
  for (std::size_t k = 0; k < shown; ++k) {
    finish::PassReport const& pass = report.passes[k];
    content += fmt::format("<text class=\"tick\" x=\"0\" y=\"{}\">pass {}, T{}</text>", px(y + 10),
                           pass.index, pass.tool);
    auto const bar = [&](double seconds, char const* style, double top) {
      double const length = 270 * seconds / longest;
      content += fmt::format(
          "<rect class=\"bar {}\" x=\"1\" y=\"{}\" width=\"{}\" height=\"15\"/><text class=\"tick\" "
          "x=\"{}\" y=\"{}\">{}{}</text>",
          style, px(top), px(std::max(length, 1.0)), px(8 + length), px(top + 12), duration(seconds),
          !both                                 ? ""
          : std::string_view(style) == "before" ? " before"
                                                : " after");
    };
    bar(pass.before.time_s, "before", y + 16);
    if (both) bar(pass.after.time_s, "after", y + 34);
    y += row;
  }
  text += "<figure class=\"wide bars\">" +
          figure_svg("times", 460, y + 4, "Time per finishing pass", "One bar per pass, its length the time.",
                     content) +
          "</figure>";
  if (shown < report.passes.size())
    text +=
        fmt::format("<p class=\"remark\">{} more passes are not drawn.</p>", report.passes.size() - shown);
  return text + "</section>\n";
}

} // namespace restep::report
