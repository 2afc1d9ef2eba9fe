#include "proof/event_text.hpp"
#include "report/html_parts.hpp"
#include "report/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

// Cusp by cusp: what each level, or line of a parallel pass, leaves between itself and the next.
namespace restep::report {

using finish::PairFigure;
using proof::plain_number;

namespace {

bool drawn(PairFigure const& pair) {
  return pair.cusp_um > 0 && std::isfinite(pair.cusp_um);
}

std::string steps_path(std::vector<PairFigure> const& pairs, Frame const& frame) {
  std::string path;
  for (std::size_t k = 0; k < pairs.size(); ++k) {
    if (!drawn(pairs[k])) continue;
    path += fmt::format("M{} {}H{}", px(frame.x.at(pairs[k].from_mm)), px(frame.y.at(pairs[k].cusp_um)),
                        px(frame.x.at(pairs[k].to_mm)));
    if (k + 1 < pairs.size() && drawn(pairs[k + 1])) path += "V" + px(frame.y.at(pairs[k + 1].cusp_um));
  }
  return path;
}

std::string key(std::string_view style, std::string const& words) {
  return fmt::format("<li><svg class=\"key\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"{}\" "
                     "d=\"M0 5H40\"/></svg> {}</li>",
                     style, words);
}

std::string table(PassSide const& side, std::size_t index, std::string_view what, std::string_view columns,
                  std::string const& rows) {
  return fmt::format(
      "<details class=\"levels\" data-pass=\"{0}\" data-side=\"{1}\"><summary>{2} table, {3}: {4} "
      "{5}s</summary><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{5}s\">"
      "<table><thead><tr>{6}</tr></thead><tbody>{7}</tbody></table></div></details>",
      index, side.style, what == "line" ? "Line" : "Level", side.name, side.figures.levels, what, columns,
      rows);
}

std::string cusp_cell(double cusp_um) {
  return number_cell(std::isfinite(cusp_um) ? fmt::format("{:.3f}", cusp_um) : "the lines do not meet");
}

/// Lines of a parallel pass: the pairs alone tell where they are.
std::string line_rows(std::vector<PairFigure> const& pairs) {
  std::string rows;
  for (std::size_t k = 0; k <= pairs.size(); ++k) {
    bool const last = k == pairs.size();
    rows += "<tr>" + number_cell(fmt::format("{}", k + 1)) +
            number_cell(fmt::format("{:.4f}", last ? pairs.back().to_mm : pairs[k].from_mm)) +
            (last ? number_cell("") + number_cell("")
                  : number_cell(fmt::format("{:.4f}", std::abs(pairs[k].to_mm - pairs[k].from_mm))) +
                        cusp_cell(pairs[k].cusp_um)) +
            "</tr>";
  }
  return rows;
}

std::string level_rows(PassSide const& side) {
  auto const& tips = side.figures.positions;
  std::string rows;
  for (std::size_t k = 0; k < tips.size(); ++k) {
    bool const last = k + 1 == tips.size() || k >= side.cusps.size();
    rows += "<tr>" + number_cell(fmt::format("{}", k + 1)) + number_cell(fmt::format("{:.4f}", tips[k].y)) +
            number_cell(fmt::format("{:.4f}", tips[k].x)) +
            (last ? number_cell("") + number_cell("")
                  : number_cell(fmt::format("{:.4f}", tips[k].y - tips[k + 1].y)) +
                        cusp_cell(side.cusps[k].cusp_um)) +
            "</tr>";
  }
  return rows;
}

} // namespace

std::vector<PairFigure> cusps_of(finish::PassReport const& pass, finish::LevelFigures const& figures) {
  if (!figures.pairs.empty()) return figures.pairs;
  std::vector<PairFigure> cusps;
  auto const& tips = figures.positions;
  auto const pairs = pair_figures(pass, tips);
  for (std::size_t k = 0; k < pairs.size(); ++k)
    cusps.push_back({tips[k].y, tips[k + 1].y, pairs[k].cusp_um});
  return cusps;
}

std::string cusp_chart(finish::PassReport const& pass, std::vector<PassSide> const& sides) {
  double high = 0, low = 1e300;
  for (PassSide const& side : sides) {
    for (PairFigure const& pair : side.cusps) {
      if (!drawn(pair)) continue;
      high = std::max(high, pair.cusp_um);
      low = std::min(low, pair.cusp_um);
    }
  }
  if (high <= 0) return {};
  bool const has_target = pass.target_text.starts_with("cusp") && pass.target_um > 0;
  if (has_target) {
    high = std::max(high, pass.target_um);
    low = std::min(low, pass.target_um);
  }
  bool const logarithmic = high / low > 8;
  auto const& first = sides.front().cusps;
  Frame const frame{{first.front().from_mm, first.back().to_mm, 56, 640, false},
                    {logarithmic ? std::max(low * 0.8, high / 1e4) : 0, high * 1.15, 250, 30, logarithmic},
                    pass.raster ? "place across the lines, mm"
                                : "height of the tip, mm (the cut goes to the right, downwards)",
                    logarithmic ? "cusp, um (logarithmic)" : "cusp, um"};
  std::string content = frame.svg(), legend;
  for (PassSide const& side : sides) {
    std::string const style = fmt::format("line {}", side.style);
    content += fmt::format("<path class=\"{}\" d=\"{}\"/>", style, steps_path(side.cusps, frame));
    legend += key(style, side.name);
  }
  if (has_target) {
    double const y = frame.y.at(pass.target_um);
    content += fmt::format(
        "<path class=\"target\" d=\"M56 {0}H640\"/><text class=\"tick\" x=\"644\" y=\"{1}\">target</text>",
        px(y), px(y + 4));
    legend += key("target", fmt::format("target, {} um", plain_number(pass.target_um, 3)));
  }
  std::string caption =
      pass.raster ? "Largest cusp between each line and the next, against the place across the lines."
      : pass.meridian.pieces().empty()
          ? "Largest cusp between each level and the next, against the height of the tool's tip."
          : "Cusp between each level and the next, against the height of the tool's tip.";
  return fmt::format("<figure class=\"wide chart\" data-chart=\"cusp\" data-pass=\"{}\">", pass.index) +
         figure_svg(fmt::format("cusp-{}", pass.index), 700, 290,
                    fmt::format("Cusp against {}, pass {}", pass.raster ? "place" : "depth", pass.index),
                    caption, content) +
         "<ul class=\"legend\">" + legend + "</ul><figcaption>" + caption + "</figcaption></figure>";
}

std::string level_table(finish::PassReport const& pass, PassSide const& side) {
  if (pass.raster) {
    if (side.cusps.empty()) return {};
    return table(side, pass.index, "line",
                 "<th>line<th>place across, mm<th>stepover to the next, mm<th>largest cusp to the next, um",
                 line_rows(side.cusps));
  }
  if (side.figures.positions.size() < 2 || side.cusps.empty()) return {};
  return table(
      side, pass.index, "level",
      pass.meridian.pieces().empty()
          ? "<th>level<th>tip z, mm<th>mean offset d, mm<th>step down to the next, mm<th>largest cusp to "
            "the next, um"
          : "<th>level<th>tip z, mm<th>offset d, mm<th>step down to the next, mm<th>cusp to the next, um",
      level_rows(side));
}

} // namespace restep::report
