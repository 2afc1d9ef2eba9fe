#include "proof/event_text.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_set>

// The course of the whole program in two views. What a stretch does is told by its stroke as well as by its
// colour: cuts are solid, rapids dashed, retracts dotted, and what the rewrite changed is underlaid.
namespace restep::report {

using proof::plain_number;

namespace {

constexpr std::size_t most_drawn = 20'000;

struct Bounds {
  std::array<double, 3> low{1e300, 1e300, 1e300}, high{-1e300, -1e300, -1e300};
};

Bounds bounds_of(Toolpath const& path) {
  Bounds bounds;
  for (Stretch const& stretch : path.stretches()) {
    for (std::size_t axis = 0; axis < 3; ++axis) {
      bounds.low[axis] = std::min<double>({bounds.low[axis], stretch.from[axis], stretch.to[axis]});
      bounds.high[axis] = std::max<double>({bounds.high[axis], stretch.from[axis], stretch.to[axis]});
    }
  }
  return bounds;
}

/// One style of line, and which stretches it draws.
struct Style {
  char const* name;
  char const* words;
  bool (*draws)(Stretch const&);
};

constexpr Style styles[] = {
    {"edit", "changed or added by the rewrite (wide, behind the line)",
     [](Stretch const& s) { return s.edited; }},
    {"rapid", "rapid (dashed)", [](Stretch const& s) { return s.kind == StretchKind::rapid; }},
    {"retract", "retract: rapid upwards (dotted)",
     [](Stretch const& s) { return s.kind == StretchKind::retract; }},
    {"cut", "cut (solid)", [](Stretch const& s) { return s.kind == StretchKind::cut; }},
};

/// A view along one axis: which axes run to the right and up.
struct View {
  char const* id;
  char const* title;
  std::size_t right, up;
};

constexpr double width = 700;

std::string view_svg(Toolpath const& path, Bounds const& bounds, View const& view) {
  double const across = std::max(bounds.high[view.right] - bounds.low[view.right], 1e-3);
  double const tall = std::max(bounds.high[view.up] - bounds.low[view.up], 1e-3);
  double const scale = std::min(600 / across, 480 / tall);
  Frame const frame{{bounds.low[view.right], bounds.high[view.right], 60, 60 + scale * across, false},
                    {bounds.low[view.up], bounds.high[view.up], 30 + scale * tall, 30, false},
                    fmt::format("{}, mm", "XYZ"[view.right]),
                    fmt::format("{}, mm", "XYZ"[view.up])};
  // Half units of the figure: nobody sees more, and levels that lie on each other are drawn once.
  auto const point = [&](std::array<float, 3> const& p) {
    return plain_number(std::round(frame.x.at(p[view.right]) * 2) / 2, 1) + " " +
           plain_number(std::round(frame.y.at(p[view.up]) * 2) / 2, 1);
  };
  std::string content = frame.svg();
  for (Style const& style : styles) {
    std::string d, end;
    std::unordered_set<std::string> drawn;
    for (Stretch const& stretch : path.stretches()) {
      if (!style.draws(stretch)) continue;
      std::string const from = point(stretch.from), to = point(stretch.to);
      if (from == to || !drawn.insert(std::min(from, to) + "," + std::max(from, to)).second) continue;
      if (from != end) d += "M" + from;
      d += "L" + to;
      end = to;
    }
    if (!d.empty()) content += fmt::format("<path class=\"path {}\" d=\"{}\"/>", style.name, d);
  }
  return figure_svg(view.id, width, 30 + scale * tall + 45, view.title,
                    "Cuts are solid, rapids dashed, retracts dotted; what the rewrite changed is underlaid.",
                    content);
}

std::string thinning_note(Toolpath const& path) {
  std::string note = fmt::format("{} motions", path.motions());
  if (path.tolerance() > 0)
    note += fmt::format(", drawn in {} lines that stay within {} mm of the path", path.stretches().size(),
                        plain_number(path.tolerance(), 3));
  return note + " (drilling cycles taken apart).";
}

} // namespace

std::string path_section(Toolpath const& whole, PageKind kind) {
  if (whole.stretches().empty()) return {};
  Toolpath const path = whole.thinned(most_drawn);
  Bounds const bounds = bounds_of(path);
  std::string legend;
  for (Style const& style : styles) {
    bool const used = std::any_of(path.stretches().begin(), path.stretches().end(), style.draws);
    if (used)
      legend += fmt::format(
          "<li><svg class=\"key\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"path {}\" "
          "d=\"M0 5H40\"/></svg> {}</li>",
          style.name, style.words);
  }
  std::string text = "<section id=\"path\"><h2>The whole path</h2>";
  text += kind == PageKind::rewrite ? "<p>As read from the program that was written. "
                                    : "<p>As read from the program. ";
  text += thinning_note(path) + "</p><div id=\"path-space\" hidden></div><ul class=\"legend\">" + legend +
          "</ul>";
  constexpr View views[] = {{"plan", "Plan view, from above", 0, 1},
                            {"side", "Side view, from the front", 0, 2}};
  for (View const& view : views)
    text += fmt::format("<figure class=\"wide\">{}<figcaption>{}</figcaption></figure>",
                        view_svg(path, bounds, view), view.title);
  return text + "</section>\n";
}

} // namespace restep::report
