#include "report/comparison.hpp"
#include "report/html_parts.hpp"
#include "report/json.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace restep::report {

using nlohmann::ordered_json;

namespace {

/// Ten-thousandths of a millimetre: fine enough to look at, short as text.
constexpr double units_per_mm = 1e4;

ordered_json path_json(Toolpath const& path) {
  // Per stretch: jump flag | kind | edited, block, end point as differences; a jump carries its start point
  // before.
  ordered_json flags = ordered_json::array(), block = ordered_json::array(), points = ordered_json::array();
  ordered_json feed = ordered_json::array();
  std::array<long, 3> at{};
  auto const put = [&](std::array<float, 3> const& point) {
    for (std::size_t axis = 0; axis < 3; ++axis) {
      long const value = std::lround(point[axis] * units_per_mm);
      points.push_back(value - at[axis]);
      at[axis] = value;
    }
  };
  Stretch const* last = nullptr;
  std::uint32_t last_block = 0;
  for (Stretch const& stretch : path.stretches()) {
    bool const jump = last == nullptr || last->to != stretch.from;
    flags.push_back(static_cast<int>(stretch.kind) + (stretch.edited ? 4 : 0) + (jump ? 8 : 0));
    if (jump) put(stretch.from);
    put(stretch.to);
    block.push_back(stretch.block - last_block);
    feed.push_back(rounded(static_cast<double>(stretch.feed), 3));
    last_block = stretch.block;
    last = &stretch;
  }
  ordered_json lines = ordered_json::array(), sources = ordered_json::array(), texts = ordered_json::array();
  for (PathBlock const& each : path.blocks()) {
    lines.push_back(each.line);
    sources.push_back(each.source);
    texts.push_back(text::printable(each.text));
  }
  return {{"units_per_mm", units_per_mm},
          {"flags", flags},
          {"points", points},
          {"block", block},
          {"feed", feed},
          {"lines", lines},
          {"source", sources},
          {"text", texts},
          {"motions", path.motions()},
          {"undrawn", path.undrawn()},
          {"tolerance_mm", path.tolerance()}};
}

ordered_json pairs_json(finish::PassReport const& pass, finish::LevelFigures const& figures) {
  ordered_json at = ordered_json::array(), cusp = ordered_json::array();
  for (finish::PairFigure const& pair : cusps_of(pass, figures)) {
    at.push_back(rounded((pair.from_mm + pair.to_mm) / 2, 5));
    cusp.push_back(micrometres(pair.cusp_um));
  }
  return {{"at", at}, {"cusp", cusp}};
}

/// JSON as the text of a script element: "</script" and "<!--" inside a string would end it.
std::string script_text(ordered_json const& data) {
  std::string safe;
  for (char const c : data.dump(-1, ' ', false, ordered_json::error_handler_t::replace)) {
    if (c == '<')
      safe += "\\u003c";
    else
      safe += c;
  }
  return safe;
}

} // namespace

std::string comparison_data(ComparisonReport const& report, std::vector<PathMark> const& marks) {
  geometry::Vec3 const shift = report.shift.value_or(geometry::Vec3{});
  ordered_json a = path_json(report.a.path.moved(shift)), places = ordered_json::array();
  a["shift"] = {shift.x, shift.y, shift.z};
  for (PathMark const& mark : marks)
    if (motion::is_known(mark.at))
      places.push_back(
          {{"at", {mark.at.x, mark.at.y, mark.at.z}}, {"label", mark.label}, {"bad", mark.style == "bad"}});
  return script_text(
      {{"ways",
        {{"a", a}, {"b", path_json(report.b.path)}, {"tolerance_mm", report.tolerance}, {"marks", places}}}});
}

std::string page_data(ProgramReport const& report, Toolpath const& path) {
  ordered_json passes = ordered_json::array();
  auto const coloured = finishing_passes(report);
  for (finish::PassReport const& pass : report.passes) {
    auto const place = std::find(coloured.begin(), coloured.end(), &pass);
    bool const both = pass.status == finish::PassStatus::restepped;
    passes.push_back(
        {{"index", pass.index},
         {"lines", {pass.first_line, pass.last_line}},
         {"across", pass.raster.has_value()},
         {"target_um", pass.target_text.starts_with("cusp") ? micrometres(pass.target_um) : nullptr},
         {"colour", place == coloured.end()
                        ? ordered_json(nullptr)
                        : ordered_json(static_cast<std::size_t>(place - coloured.begin()) % pass_colours)},
         {"before", pairs_json(pass, pass.before)},
         {"after", both ? pairs_json(pass, pass.after) : ordered_json(nullptr)}});
  }
  FeedSteps const steps = feed_steps(report, path);
  auto const list = [](std::vector<double> const& values, int decimals) {
    ordered_json json = ordered_json::array();
    for (double const value : values)
      json.push_back(rounded(value, decimals));
    return json;
  };
  ordered_json const feeds{
      {"seconds", list(steps.seconds, 3)}, {"feed", list(steps.feed, 3)}, {"chip", list(steps.chip, 5)}};
  return script_text({{"path", path_json(path)}, {"passes", passes}, {"feeds", feeds}});
}

} // namespace restep::report
