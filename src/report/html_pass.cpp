#include "cutter/cusp.hpp"
#include "proof/event_text.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

// Figures of one finishing pass. The drawn surface is the meridian of the corner-arc centres moved by the
// corner radius towards the material (cutter/meridian.hpp).
namespace restep::report {

using geometry::Vec2;
using proof::plain_number;

namespace {

/// The finished surface: its points and normals by the arc length of the meridian.
class SurfaceCurve {
public:
  SurfaceCurve(cutter::Meridian const& meridian, double corner_radius)
      : meridian_(meridian)
      , radius_(corner_radius) {}

  Vec2 normal(double s) const {
    Vec2 const tangent = meridian_.tangent(std::min(s, meridian_.length() * (1 - 1e-9)));
    return {-tangent.y, tangent.x};
  }
  /// `height` above the surface, mm.
  Vec2 at(double s, double height = 0) const {
    Vec2 const centre = meridian_.at(s) + Vec2{0, radius_};
    return centre + (height - radius_) * normal(s);
  }
  double length() const { return meridian_.length(); }

  std::vector<double> samples() const {
    std::vector<double> all;
    auto const& starts = meridian_.starts();
    for (std::size_t k = 0; k + 1 < starts.size(); ++k) {
      constexpr int per_piece = 48;
      for (int i = 0; i < per_piece; ++i)
        all.push_back(starts[k] + (starts[k + 1] - starts[k]) * i / per_piece);
    }
    all.push_back(length());
    return all;
  }

private:
  cutter::Meridian const& meridian_;
  double radius_;
};

/// Where drawn points go: equal scale in both directions.
struct PlotFrame {
  double scale = 1, x0 = 0, y0 = 0; ///< figure = (x0 + scale d, y0 - scale z)
  std::string point(Vec2 p) const { return px(x0 + scale * p.x) + " " + px(y0 - scale * p.y); }
};

double largest_cusp(std::vector<PairFigures> const& pairs) {
  double largest = 0;
  for (PairFigures const& pair : pairs)
    largest = std::max(largest, pair.cusp_um);
  return largest;
}

/// The ideal outline that the levels leave, its height above the surface drawn larger: valleys and peaks
/// where they are, the flanks between them as parabolas (arcs of a tool) or straight (a stair).
std::string cusp_outline(SurfaceCurve const& surface, std::vector<PairFigures> const& pairs,
                         double exaggeration, PlotFrame const& view) {
  std::string path;
  std::vector<Vec2> back;
  for (PairFigures const& pair : pairs) {
    if (pair.cusp_um <= 0) continue;
    constexpr int steps = 4;
    auto const flank = [&](double valley, double peak, bool rising) {
      for (int i = rising ? 0 : 1; i <= steps; ++i) {
        double const share = rising ? static_cast<double>(i) / steps : 1 - static_cast<double>(i) / steps;
        double const height = pair.cusp_um / 1000 * exaggeration * (pair.rounded ? share * share : share);
        path += view.point(surface.at(valley + (peak - valley) * share, height)) + " ";
      }
    };
    path += "M";
    flank(pair.s_from, pair.s_peak, true);
    flank(pair.s_to, pair.s_peak, false);
    for (int i = steps; i >= 0; --i)
      path += view.point(surface.at(pair.s_from + (pair.s_to - pair.s_from) * i / steps)) + " ";
    path += "Z";
  }
  return path;
}

struct Panel {
  char const* name;
  char const* style;
  std::vector<Vec2> const& tips;
  std::vector<PairFigures> pairs;
};

constexpr double panel_width = 320, panel_height = 400, panel_top = 46;

std::string panel_svg(Panel const& panel, finish::PassReport const& pass, SurfaceCurve const& surface,
                      double exaggeration, PlotFrame const& view) {
  auto const samples = surface.samples();
  std::string curve;
  Vec2 low = surface.at(0), high = low;
  for (double const s : samples) {
    Vec2 const p = surface.at(s);
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    curve += (curve.empty() ? "M" : "L") + view.point(p);
  }
  double const margin = 18 / view.scale;
  std::string const body = curve + "L" + view.point({surface.at(surface.length()).x, low.y - margin / 2}) +
                           "L" + view.point({low.x - margin, low.y - margin / 2}) + "L" +
                           view.point({low.x - margin, surface.at(0).y}) + "Z";
  std::string text = fmt::format("<path class=\"material\" d=\"{}\"/>", body);
  text += fmt::format("<path class=\"cusps {}\" d=\"{}\"/>", panel.style,
                      cusp_outline(surface, panel.pairs, exaggeration, view));
  text += fmt::format("<path class=\"surface\" d=\"{}\"/>", curve);
  std::string marks;
  for (Vec2 const tip : panel.tips) {
    double const s = pass.meridian.nearest(tip);
    marks +=
        "M" + view.point(surface.at(s, 12 / view.scale)) + "L" + view.point(surface.at(s, 22 / view.scale));
  }
  text += fmt::format("<path class=\"mark {}\" d=\"{}\"/>", panel.style, marks);
  text += fmt::format("<text class=\"head\" x=\"8\" y=\"18\">{}: {} levels</text>", panel.name,
                      panel.tips.size());
  double const largest = largest_cusp(panel.pairs);
  text += fmt::format("<text class=\"axis\" x=\"8\" y=\"35\">{}</text>",
                      largest > 0 ? fmt::format("cusp at most {} um", plain_number(largest, 3)) : "no cusp");
  return text;
}

std::string meridian_figure(finish::PassReport const& pass, double corner_radius,
                            std::vector<Panel> const& panels) {
  SurfaceCurve const surface(pass.meridian, corner_radius);
  Vec2 low = surface.at(0), high = low;
  for (double const s : surface.samples()) {
    Vec2 const p = surface.at(s);
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  double const width = std::max(high.x - low.x, 1e-3), height = std::max(high.y - low.y, 1e-3);
  double const scale = std::min((panel_width - 80) / width, (panel_height - 60) / height);
  double largest = 0;
  for (Panel const& panel : panels)
    largest = std::max(largest, largest_cusp(panel.pairs));
  double const exaggeration =
      largest > 0 ? std::max(1.0, round_down_125(0.15 * std::max(width, height) / (largest / 1000))) : 1;

  std::string caption =
      "Section across the pass, equal scale in both directions. The short strokes are the levels.";
  if (largest > 0)
    caption += fmt::format(
        " The height of the cusps above the surface is drawn {} times larger than the rest; between a "
        "valley and the peak beside it the outline is simplified.",
        plain_number(exaggeration, 0));
  // A flat or short section leaves the rest of the panel's height away.
  double const foot = panel_top + 44 + scale * height;
  double const bar = round_down_125(90 / scale);
  std::string const ruler = fmt::format(
      "<path class=\"frame\" d=\"M8 {0}v8H{1}v-8\"/><text class=\"tick\" x=\"{2}\" y=\"{3}\">{4} mm</text>",
      px(foot), px(8 + bar * scale), px(14 + bar * scale), px(foot + 8), plain_number(bar, 6));
  PlotFrame const view{scale, 36 - scale * low.x, panel_top + 30 + scale * high.y};
  std::string figures;
  for (Panel const& panel : panels)
    figures += figure_svg(fmt::format("meridian-{}-{}", pass.index, panel.style), panel_width, foot + 16,
                          fmt::format("Meridian of pass {} with its levels, {}", pass.index, panel.name),
                          caption, panel_svg(panel, pass, surface, exaggeration, view) + ruler);
  return fmt::format("<figure class=\"wide\" id=\"meridian-{}\"><div "
                     "class=\"panels\">{}</div><figcaption>{}</figcaption></figure>",
                     pass.index, figures, escaped(caption));
}

std::string range(double low, double high, int decimals, char const* unit) {
  std::string const a = plain_number(low, decimals), b = plain_number(high, decimals);
  return a == b ? b + " " + unit : fmt::format("{} to {} {}", a, b, unit);
}

std::string figures_table(finish::PassReport const& pass, bool both) {
  auto const row = [&](char const* name, auto const& text) {
    return fmt::format("<tr><th scope=\"row\">{}</th>", name) + number_cell(text(pass.before)) +
           (both ? number_cell(text(pass.after)) : "") + "</tr>";
  };
  using Figures = finish::LevelFigures;
  std::string table = both ? "<table class=\"compact\"><thead><tr><td></td><th scope=\"col\">before<th "
                             "scope=\"col\">after</tr></thead><tbody>"
                           : "<table class=\"compact\"><tbody>";
  table +=
      row(pass.raster ? "lines" : "levels", [](Figures const& f) { return fmt::format("{}", f.levels); });
  bool const known = surface_known(pass); // else there is nothing to measure a cusp from
  if (known)
    table += row("cusp", [](Figures const& f) { return range(f.cusp_min_um, f.cusp_max_um, 3, "um"); });
  if (known)
    table += row("Ra, theoretical", [](Figures const& f) { return plain_number(f.ra_um, 3) + " um"; });
  if (pass.before.stepdown_max_mm > 0)
    table += row(pass.raster ? "stepover" : "step down",
                 [](Figures const& f) { return range(f.stepdown_min_mm, f.stepdown_max_mm, 4, "mm"); });
  table += row("time", [](Figures const& f) { return duration(f.time_s); });
  return table + "</tbody></table>";
}

std::string facts(finish::PassReport const& pass, bool both) {
  std::string surfaces;
  for (cutter::Surface const& surface : pass.surface)
    surfaces += fmt::format("<li>{}, tip z {} to {} mm</li>", escaped(describe(surface)),
                            plain_number(surface.z_from, 4), plain_number(surface.z_to, 4));
  if (pass.raster) {
    finish::RasterReport const& raster = *pass.raster;
    surfaces = fmt::format("<li>lines at {} degrees from X, {}</li><li>slopes of {}</li>",
                           plain_number(raster.direction_deg, 3), raster.one_way ? "one way" : "zigzag",
                           range(raster.slope_min_deg, raster.slope_max_deg, 1, "degrees"));
  }
  if (surfaces.empty() && pass.surface_bound_um > 0)
    surfaces = fmt::format("<li>told by its levels, place by place along the contours, within {} um</li>",
                           plain_number(pass.surface_bound_um, 2));
  std::string text =
      surfaces.empty() ? "<p>No surface was recognised.</p>" : "<ul class=\"surfaces\">" + surfaces + "</ul>";
  if (!pass.target_text.empty())
    text += fmt::format("<p>Finish asked for: <b>{}</b>, {} {}.</p>", escaped(pass.target_text),
                        pass.target_from == finish::asked_of_all ? "for" : "by", escaped(pass.target_from));
  if (pass.extended_levels > 0)
    text +=
        fmt::format("<p>Extended by <b>{} levels</b> above the program's first, {} mm up to tangency.</p>",
                    pass.extended_levels, plain_number(pass.extended_mm, 4));
  else if (pass.uncovered_mm > 0)
    text += fmt::format(
        "<p class=\"remark\">{} mm above the first level, up to tangency, are not cut by this pass.</p>",
        plain_number(pass.uncovered_mm, 4));
  if (!pass.not_extended.empty())
    text += fmt::format("<p class=\"remark\">Not extended: {}.</p>", escaped(pass.not_extended));
  if (both && (pass.peak_um > 0 || pass.gouge_um > 0))
    text +=
        fmt::format("<p>Measured in the {}: cusp at most <b>{} um</b>, material left at most <b>{} um</b>, "
                    "cut below the surface at most <b>{} um</b>.</p>",
                    pass.raster ? "height field" : "section model", plain_number(pass.written_cusp_um, 3),
                    plain_number(pass.peak_um, 3), plain_number(pass.gouge_um, 3));
  if (pass.meridian.pieces().empty() && surface_known(pass))
    text +=
        fmt::format("<p class=\"remark\">No section is drawn: every place {} has one of its own. The figures "
                    "are those of "
                    "the worst place between two {}.</p>",
                    pass.raster ? "along the lines" : "of the contours", pass.raster ? "lines" : "levels");
  if (!pass.reason.empty())
    text += fmt::format("<p class=\"reason\">{}: {}.</p>",
                        pass.status == finish::PassStatus::restepped ? "Re-stepped" : "Kept",
                        escaped(pass.reason));
  return text;
}

} // namespace

std::vector<PairFigures> pair_figures(finish::PassReport const& pass, std::vector<Vec2> const& tips) {
  std::vector<PairFigures> pairs;
  auto const tool = cutter::parse_tool(pass.tool_text);
  if (!tool || pass.meridian.pieces().empty()) return pairs;
  double const r = tool->corner_radius;
  bool const ball = tool->kind == cutter::ToolKind::ball;
  for (std::size_t k = 0; k + 1 < tips.size(); ++k) {
    PairFigures pair;
    pair.cusp_um = cutter::cusp_peak_to_valley(*tool, pass.meridian, tips[k], tips[k + 1]) * 1000;
    pair.s_from = pass.meridian.nearest(tips[k]);
    pair.s_to = pass.meridian.nearest(tips[k + 1]);
    auto const meeting = cutter::cusp_point(r, ball, tips[k] + Vec2{0, r}, tips[k + 1] + Vec2{0, r});
    pair.rounded = meeting.kind != cutter::CuspCase::flat_side;
    pair.s_peak = meeting.kind == cutter::CuspCase::none
                      ? (pair.s_from + pair.s_to) / 2
                      : std::clamp(pass.meridian.nearest(meeting.at - Vec2{0, r}), pair.s_from,
                                   std::max(pair.s_from, pair.s_to));
    pairs.push_back(pair);
  }
  return pairs;
}

std::string cell(std::string_view text) {
  return "<td>" + escaped(text) + "</td>";
}

std::string number_cell(std::string_view text) {
  return "<td class=\"n\">" + escaped(text) + "</td>";
}

std::string pass_section(finish::PassReport const& pass, PageKind kind) {
  bool const both = kind == PageKind::rewrite && pass.status == finish::PassStatus::restepped;
  std::string text = fmt::format("<section class=\"pass\" id=\"pass-{0}\" data-status=\"{1}\"><h3>Pass {0} "
                                 "<span class=\"tag {1}\">{2}</span></h3>"
                                 "<p>Lines {3} to {4}, T{5} {6}{7}{8}</p><div class=\"sides\"><div>",
                                 pass.index, both ? "restepped" : "kept",
                                 kind == PageKind::inspect ? "found"
                                 : both                    ? "re-stepped"
                                                           : "kept as it was",
                                 pass.first_line, pass.last_line, pass.tool, escaped(pass.tool_text),
                                 pass.shape.empty() ? "" : ", ", escaped(pass.shape));
  text += facts(pass, both) + "</div>" + figures_table(pass, both) + "</div>";

  std::vector<PassSide> sides{
      {both ? "before" : "as it is", "before", pass.before, cusps_of(pass, pass.before)}};
  if (both) sides.push_back({"after", "after", pass.after, cusps_of(pass, pass.after)});
  auto const tool = cutter::parse_tool(pass.tool_text);
  if (tool && !pass.meridian.pieces().empty() && pass.before.positions.size() > 1) {
    std::vector<Panel> panels;
    panels.reserve(sides.size());
    for (PassSide const& side : sides)
      panels.push_back(
          {side.name, side.style, side.figures.positions, pair_figures(pass, side.figures.positions)});
    text += meridian_figure(pass, tool->corner_radius, panels);
  }
  text += cusp_chart(pass, sides);
  for (PassSide const& side : sides)
    text += level_table(pass, side);
  return text + "</section>\n";
}

} // namespace restep::report
