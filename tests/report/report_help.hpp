#pragma once

#include "report/program_report.hpp"

namespace restep::report {

/// One restepped pass over a bell yoke's edge round, one that was kept, and a finding of each severity.
inline ProgramReport example() {
  ProgramReport report;
  report.program = "bell-yoke.nc";
  report.from_dialect = report.to_dialect = "rs274ngc";
  report.output = "out.nc";
  report.target = "cusp:1um";
  report.survey.blocks = 120;
  report.survey.motions = 100;
  report.tools = {{3, "bull 3 r0.3", 2}, {5, "", 0}};

  finish::PassReport pass;
  pass.index = 1;
  pass.first_line = 10;
  pass.last_line = 90;
  pass.tool = 3;
  pass.tool_text = "bull 3 r0.3";
  pass.shape = "closed contours";
  pass.surface.push_back({cutter::SurfaceKind::convex_round, 1.5, 0, 0, -1.8});
  pass.surface.push_back({cutter::SurfaceKind::plane, 0, 3, -1.8, -6});
  pass.fit_residual_um = 0.12345;
  pass.before.levels = 60;
  pass.before.stepdown_min_mm = 0.1;
  pass.before.stepdown_max_mm = 0.1;
  pass.before.cusp_min_um = 0.031;
  pass.before.cusp_max_um = 92.7;
  pass.before.ra_um = 13.4;
  pass.before.time_s = 725.2;
  pass.after.levels = 94;
  pass.after.stepdown_min_mm = 0.0004;
  pass.after.stepdown_max_mm = 0.1;
  pass.after.cusp_min_um = 0.9971;
  pass.after.cusp_max_um = 0.9984;
  pass.after.ra_um = 0.25;
  pass.after.time_s = 1130;
  pass.status = finish::PassStatus::restepped;
  pass.target_text = "cusp:1um";
  pass.reason = "94 levels meet the target";
  pass.peak_um = 1.04;
  pass.written_cusp_um = 1.01;
  pass.gouge_um = 0.05;
  report.passes.push_back(pass);
  pass.index = 2;
  pass.status = finish::PassStatus::kept;
  pass.reason = "no curve explains the levels within the program's own digits";
  report.passes.push_back(pass);

  report.feeds = {4, 0.71};
  report.edits.add(12, "restep", "level added");
  report.findings.add(text::Severity::note, "a-note", "a remark", "", {0, 0, 2});
  report.findings.add(text::Severity::warning, "a-warning", "a warning", "", {0, 0, 9});
  report.findings.add(text::Severity::warning, "a-warning", "an earlier warning", "", {0, 0, 5});
  report.read_back = proof::ReadBackResult{100, 0.00049};
  report.seconds_before = 754;
  report.seconds_after = 3725.4;
  return report;
}

} // namespace restep::report
