#include "report/json.hpp"

#include <algorithm>
#include <cmath>

namespace restep::report {

using nlohmann::ordered_json;

ordered_json rounded(double value, int decimals) {
  if (!std::isfinite(value)) return nullptr;
  double const scale = std::pow(10.0, decimals);
  double const result = std::round(value * scale) / scale;
  return std::isfinite(result) ? result + 0.0 : value; // + 0.0 turns -0 into 0
}

namespace {

ordered_json text_or_null(std::string const& text) {
  return text.empty() ? ordered_json(nullptr) : ordered_json(text);
}

ordered_json surface_json(cutter::Surface const& surface) {
  ordered_json json{{"kind", cutter::name_of(surface.kind)}};
  bool const round = surface.kind == cutter::SurfaceKind::convex_round ||
                     surface.kind == cutter::SurfaceKind::concave_fillet;
  if (round)
    json["radius_mm"] = millimetres(surface.radius);
  else
    json["angle_deg"] = rounded(surface.angle, 4);
  json["z_mm"] = {millimetres(surface.z_from), millimetres(surface.z_to)};
  return json;
}

/// 0 stands for what is not known.
ordered_json known(double value, int decimals) {
  return value > 0 ? rounded(value, decimals) : ordered_json(nullptr);
}

/// Where no surface was recognised there is nothing to measure a cusp from, nor are its levels told apart.
ordered_json levels_json(finish::LevelFigures const& figures, bool surface) {
  bool const stepped = figures.stepdown_max_mm > 0;
  return {{"levels", figures.levels},
          {"stepdown_min_mm", stepped ? millimetres(figures.stepdown_min_mm) : nullptr},
          {"stepdown_max_mm", stepped ? millimetres(figures.stepdown_max_mm) : nullptr},
          {"cusp_min_um", surface ? micrometres(figures.cusp_min_um) : nullptr},
          {"cusp_max_um", surface ? micrometres(figures.cusp_max_um) : nullptr},
          {"ra_um", surface ? micrometres(figures.ra_um) : nullptr},
          {"effective_diameter_mm", known(figures.effective_diameter_mm, 6)},
          {"chip_thinning", known(figures.chip_thinning, 4)},
          {"stepover_max_mm", millimetres(figures.stepover_max_mm)},
          {"radial_chip_thinning", known(figures.radial_thinning, 4)},
          {"spindle_rpm", known(figures.spindle_rpm, 1)},
          {"cutting_speed_m_min", known(figures.cutting_speed_m_min, 2)},
          {"feed_per_tooth_mm", known(figures.feed_per_tooth_mm, 5)},
          {"thickest_chip_mm", known(figures.thickest_chip_mm, 6)},
          {"time_s", seconds(figures.time_s)}};
}

/// A parallel pass: what its levels and stepdowns stand for, and what stacks have not.
ordered_json raster_json(finish::PassReport const& pass) {
  finish::RasterReport const& raster = *pass.raster;
  auto const side = [](finish::LevelFigures const& figures) -> ordered_json {
    return {{"lines", figures.levels},
            {"stepover_min_mm", millimetres(figures.stepdown_min_mm)},
            {"stepover_max_mm", millimetres(figures.stepdown_max_mm)}};
  };
  return {{"direction_deg", rounded(raster.direction_deg, 5)},
          {"slope_deg", {rounded(raster.slope_min_deg, 4), rounded(raster.slope_max_deg, 4)}},
          {"one_way", raster.one_way},
          {"before", side(pass.before)},
          {"after", side(pass.after)},
          {"known_within_um", micrometres(raster.told_within_um)},
          {"chords_um", micrometres(raster.chords_um)},
          {"kept_strips", raster.kept_strips}};
}

ordered_json range_json(transform::Range const& range, int decimals) {
  if (range.empty()) return nullptr;
  return {rounded(range.least, decimals), rounded(range.most, decimals)};
}

/// {"before": [least, most], "after": ...} of one tool's figure.
ordered_json cutting_json(ProgramReport const& report, int tool,
                          transform::Range transform::ToolFigures::*figure, int decimals) {
  auto const of = [&](std::vector<transform::ToolFigures> const& all) -> ordered_json {
    for (transform::ToolFigures const& one : all)
      if (one.tool == tool) return range_json(one.*figure, decimals);
    return nullptr;
  };
  return {{"before", of(report.cutting_before)}, {"after", of(report.cutting_after)}};
}

ordered_json pass_json(finish::PassReport const& pass) {
  ordered_json surfaces = ordered_json::array();
  for (cutter::Surface const& surface : pass.surface)
    surfaces.push_back(surface_json(surface));
  ordered_json json{
      {"index", pass.index},
      {"lines", {pass.first_line, pass.last_line}},
      {"tool", pass.tool},
      {"tool_text", pass.tool_text},
      {"shape", pass.shape},
      {"surface", surfaces},
      {"fit_residual_um", micrometres(pass.fit_residual_um)},
      {"uncovered_mm", millimetres(pass.uncovered_mm)},
      {"extended", {{"levels", pass.extended_levels}, {"height_mm", millimetres(pass.extended_mm)}}},
      {"surface_bound_um", micrometres(pass.surface_bound_um)},
      {"target_um", micrometres(pass.target_um)},
      {"target", {{"finish", text_or_null(pass.target_text)}, {"from", text_or_null(pass.target_from)}}},
      {"before", levels_json(pass.before, surface_known(pass))},
      {"after", levels_json(pass.after, surface_known(pass))},
      {"gouge_um", micrometres(pass.gouge_um)},
      {"peak_um", micrometres(pass.peak_um)},
      {"written_cusp_um", micrometres(pass.written_cusp_um)},
      {"constant",
       {{"levels", pass.constant_levels}, {"stepdown_mm", millimetres(pass.constant_stepdown_mm)}}},
      {"status", pass.status == finish::PassStatus::restepped ? "restepped" : "kept"},
      {"reason", pass.reason}};
  if (!pass.not_extended.empty()) json["extended"]["reason"] = pass.not_extended;
  if (pass.raster) json["raster"] = raster_json(pass);
  return json;
}

ordered_json reach_json(motion::Reach const& reach) {
  if (!(reach.low.x <= reach.high.x) && !(reach.low.y <= reach.high.y) && !(reach.low.z <= reach.high.z))
    return nullptr;
  ordered_json json;
  char const* const names[] = {"x_mm", "y_mm", "z_mm"};
  for (int axis = 0; axis < 3; ++axis)
    json[names[axis]] = {millimetres(reach.low[axis]), millimetres(reach.high[axis])};
  return json;
}

ordered_json findings_json(text::Findings const& findings) {
  ordered_json json = ordered_json::array();
  for (text::Finding const& finding : sorted_findings(findings)) {
    ordered_json one{{"severity", text::name_of(finding.severity)},
                     {"line", finding.line},
                     {"column", finding.column},
                     {"code", finding.code},
                     {"message", finding.message}};
    if (!finding.hint.empty()) one["hint"] = finding.hint;
    json.push_back(std::move(one));
  }
  return json;
}

ordered_json edits_json(motion::Edits const& edits) {
  ordered_json json = ordered_json::array();
  for (motion::Edit const& edit : edits.all())
    json.push_back({{"line", edit.line}, {"stage", edit.stage}, {"why", edit.why}});
  return json;
}

ordered_json proof_json(ProgramReport const& report) {
  if (!report.read_back && !report.failure) return nullptr;
  double gouge = 0, peak = 0;
  for (finish::PassReport const& pass : report.passes) {
    if (pass.status != finish::PassStatus::restepped) continue;
    gouge = std::max(gouge, pass.gouge_um);
    peak = std::max(peak, pass.peak_um);
  }
  ordered_json json;
  if (report.read_back) json["read_back_um"] = micrometres(report.read_back->largest_deviation * 1000);
  // Nothing was measured where nothing was re-stepped.
  bool const measured = gouge > 0 || peak > 0;
  json["gouge_um"] = measured ? micrometres(gouge) : ordered_json(nullptr);
  json["cusp_um"] = measured ? micrometres(peak) : ordered_json(nullptr);
  if (report.read_back) json["motions"] = report.read_back->motions;
  if (report.failure) {
    json["failed"] = {{"line", report.failure->meant_line},
                      {"output_line", report.failure->written_line},
                      {"what", report.failure->what}};
  }
  return json;
}

} // namespace

ordered_json to_json(ProgramReport const& report) {
  ordered_json tools = ordered_json::array();
  for (UsedTool const& tool : report.tools)
    tools.push_back(
        {{"number", tool.number},
         {"text", text_or_null(tool.text)},
         {"chip_mm", cutting_json(report, tool.number, &transform::ToolFigures::chip, 5)},
         {"cutting_speed_m_min", cutting_json(report, tool.number, &transform::ToolFigures::speed, 2)}});
  ordered_json passes = ordered_json::array();
  for (finish::PassReport const& pass : report.passes)
    passes.push_back(pass_json(pass));

  ordered_json json{
      {"schema", schema_version},
      {"program", report.program},
      {"machine", text_or_null(report.machine)},
      {"dialect", {{"from", report.from_dialect}, {"to", report.to_dialect}}},
      {"target", text_or_null(report.target)},
      {"blocks", report.survey.blocks},
      {"motions", report.survey.motions},
      {"tools", tools},
      {"extents",
       {{"cutting", reach_json(report.survey.cutting)}, {"rapids", reach_json(report.survey.rapids)}}},
      {"passes", passes},
      {"feeds", {{"clamped", report.feeds.clamped}, {"lowest_ratio", rounded(report.feeds.lowest_ratio, 6)}}},
      {"retracts", {{"inserted", report.retracts_inserted}}},
      {"edits", edits_json(report.edits)},
      {"edits_made", report.edits.made()},
      {"findings", findings_json(report.findings)},
      {"proof", proof_json(report)},
      {"time_s", {{"before", seconds(report.seconds_before)}, {"after", seconds(report.seconds_after)}}},
      {"output", text_or_null(report.output)}};
  return json;
}

} // namespace restep::report
