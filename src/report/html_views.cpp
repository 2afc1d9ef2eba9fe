#include "proof/event_text.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <unordered_set>

// Plan and side view of one course or several.
namespace restep::report {

using proof::plain_number;

namespace {

struct Bounds {
  std::array<double, 3> low{1e300, 1e300, 1e300}, high{-1e300, -1e300, -1e300};
};

Bounds bounds_of(std::vector<PathLayer> const& layers) {
  Bounds bounds;
  std::set<Toolpath const*> seen;
  for (PathLayer const& layer : layers) {
    if (!seen.insert(layer.path).second) continue;
    for (Stretch const& stretch : layer.path->stretches()) {
      for (std::size_t axis = 0; axis < 3; ++axis) {
        bounds.low[axis] = std::min<double>({bounds.low[axis], stretch.from[axis], stretch.to[axis]});
        bounds.high[axis] = std::max<double>({bounds.high[axis], stretch.from[axis], stretch.to[axis]});
      }
    }
  }
  return bounds;
}

/// A view along one axis: which axes run to the right and up.
struct View {
  char const* id;
  char const* title;
  std::size_t right, up;
};

constexpr double width = 700;

/// One layer's strokes; what lies on what it has drawn already is left out.
template <class Point>
std::string strokes(PathLayer const& layer, Point const& point) {
  std::string d, end;
  std::unordered_set<std::string> drawn;
  for (Stretch const& stretch : layer.path->stretches()) {
    if (!layer.draws(stretch)) continue;
    std::string const from = point(stretch.from), to = point(stretch.to);
    if (from == to || !drawn.insert(std::min(from, to) + "," + std::max(from, to)).second) continue;
    if (from != end) d += "M" + from;
    d += "L" + to;
    end = to;
  }
  return d.empty() ? "" : fmt::format("<path class=\"path {}\" d=\"{}\"/>", layer.style, d);
}

/// The marks with their labels; one that would lie on another steps aside.
std::string marks_svg(std::vector<PathMark> const& marks, Frame const& frame, View const& view) {
  constexpr double size = 18;
  std::vector<geometry::Vec2> taken;
  std::string content;
  for (PathMark const& mark : marks) {
    if (!motion::is_known(mark.at)) continue;
    geometry::Vec2 place{frame.x.at(mark.at[static_cast<int>(view.right)]),
                         frame.y.at(mark.at[static_cast<int>(view.up)])};
    auto const covers = [&](geometry::Vec2 const& other) {
      return std::abs(other.x - place.x) < size && std::abs(other.y - place.y) < size;
    };
    while (std::any_of(taken.begin(), taken.end(), covers))
      place.x += size;
    taken.push_back(place);
    content +=
        fmt::format("<g class=\"pin {}\"><circle cx=\"{}\" cy=\"{}\" r=\"8\"/><text x=\"{}\" y=\"{}\" "
                    "text-anchor=\"middle\">{}</text></g>",
                    mark.style, px(place.x), px(place.y), px(place.x), px(place.y + 4), escaped(mark.label));
  }
  return content;
}

std::string view_svg(std::vector<PathLayer> const& layers, std::vector<PathMark> const& marks,
                     Bounds const& bounds, View const& view, std::string_view description) {
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
  for (PathLayer const& layer : layers)
    content += strokes(layer, point);
  content += marks_svg(marks, frame, view);
  return figure_svg(view.id, width, 30 + scale * tall + 45, view.title, description, content);
}

} // namespace

std::string path_views(std::vector<PathLayer> const& layers, std::vector<PathMark> const& marks,
                       std::string_view description) {
  Bounds const bounds = bounds_of(layers);
  std::string text = "<ul class=\"legend\">";
  for (PathLayer const& layer : layers) {
    if (std::any_of(layer.path->stretches().begin(), layer.path->stretches().end(), layer.draws))
      text +=
          fmt::format("<li><svg class=\"key\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"path "
                      "{}\" d=\"M0 5H40\"/></svg> {}</li>",
                      layer.style, escaped(layer.words));
  }
  text += "</ul>";
  constexpr View views[] = {{"plan", "Plan view, from above", 0, 1},
                            {"side", "Side view, from the front", 0, 2}};
  for (View const& view : views)
    text += fmt::format("<figure class=\"wide\">{}<figcaption>{}</figcaption></figure>",
                        view_svg(layers, marks, bounds, view, description), view.title);
  return text;
}

} // namespace restep::report
