#include "report/terminal.hpp"

#include "proof/event_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace restep::report {

namespace {

constexpr std::size_t label_width = 11;

using proof::plain_number;

std::string micrometre_range(double low, double high) {
  if (high == 0) return "none";
  if (std::abs(high - low) < 0.0005 || low == 0) return plain_number(high, 3) + " um";
  return fmt::format("{} .. {} um", plain_number(low, 3), plain_number(high, 3));
}

std::string stepdown_range(finish::LevelFigures const& figures) {
  std::string const low = plain_number(figures.stepdown_min_mm, 4);
  std::string const high = plain_number(figures.stepdown_max_mm, 4);
  return low == high ? high + " mm" : fmt::format("{} .. {} mm", low, high);
}

std::string arrow(std::string const& before, std::string const& after, bool both) {
  return both ? fmt::format("{} -> {}", before, after) : before;
}

/// "D 2.8 mm, chip x 0.94": what cuts at the largest stepdown.
std::string engagement(finish::LevelFigures const& figures) {
  return fmt::format("D {} mm, chip x {}", plain_number(figures.effective_diameter_mm, 3),
                     plain_number(figures.chip_thinning, 3));
}

/// "ae 0.05 mm, chip x 0.26": the largest step sideways, and what it does to the chip by itself.
std::string width_of_cut(finish::LevelFigures const& figures) {
  return fmt::format("ae {} mm, chip x {}", plain_number(figures.stepover_max_mm, 4),
                     plain_number(figures.radial_thinning, 3));
}

/// "89.4 m/min, 0.02 mm per tooth": at the diameter that cuts, of the fastest cut.
std::string cutting_of(finish::LevelFigures const& figures) {
  std::string text = plain_number(figures.cutting_speed_m_min, 1) + " m/min";
  if (figures.feed_per_tooth_mm > 0)
    text += fmt::format(", {} mm per tooth", plain_number(figures.feed_per_tooth_mm, 4));
  if (figures.thickest_chip_mm > 0)
    text += fmt::format(", chip {} mm", plain_number(figures.thickest_chip_mm, 4));
  return text;
}

/// Chips of each tool in mm per tooth, before and after.
std::string chips_text(ProgramReport const& report) {
  auto const range = [](transform::Range const& chip) {
    std::string const low = plain_number(chip.least, 4), high = plain_number(chip.most, 4);
    return low == high ? high : low + " .. " + high;
  };
  std::string text;
  for (transform::ToolFigures const& before : report.cutting_before) {
    if (before.chip.empty()) continue;
    std::string row = fmt::format("T{} {}", before.tool, range(before.chip));
    for (transform::ToolFigures const& after : report.cutting_after)
      if (after.tool == before.tool && !after.chip.empty()) row += " -> " + range(after.chip);
    text += labelled("chip", row + " mm per tooth");
  }
  return text;
}

std::string surfaces(finish::PassReport const& pass) {
  std::string text;
  for (cutter::Surface const& surface : pass.surface) {
    if (!text.empty()) text += ", ";
    text += fmt::format("{} (z {} to {})", describe(surface), plain_number(surface.z_from, 3),
                        plain_number(surface.z_to, 3));
  }
  if (text.empty())
    return pass.surface_bound_um > 0 ? "told by its levels, place by place" : "not recognised";
  return text;
}

/// "at 30 deg, zigzag, over slopes of 0.3 .. 25.3 deg"
std::string lines_text(finish::RasterReport const& raster) {
  std::string text = fmt::format("at {} deg, {}", plain_number(raster.direction_deg, 3),
                                 raster.one_way ? "one way" : "zigzag");
  std::string const low = plain_number(raster.slope_min_deg, 1), high = plain_number(raster.slope_max_deg, 1);
  return text + (low == high ? fmt::format(", over a slope of {} deg", high)
                             : fmt::format(", over slopes of {} .. {} deg", low, high));
}

/// One pass; with its figures after the rewrite when `both`.
std::string pass_text(finish::PassReport const& pass, bool both) {
  std::string text =
      fmt::format("pass {}  lines {}-{}  T{}", pass.index, pass.first_line, pass.last_line, pass.tool);
  if (!pass.tool_text.empty()) text += " " + pass.tool_text;
  if (!pass.shape.empty()) text += "  " + pass.shape;
  text += "\n";
  auto const& before = pass.before;
  auto const& after = pass.after;
  text += pass.raster ? labelled("direction", lines_text(*pass.raster), 2)
                      : labelled("surface", surfaces(pass), 2);
  text += labelled(pass.raster ? "lines" : "levels",
                   arrow(fmt::format("{}", before.levels), fmt::format("{}", after.levels), both), 2);
  std::string const asked = !both || pass.target_text.empty() ? ""
                            : pass.target_from.empty() || pass.target_from == finish::asked_of_all
                                ? fmt::format("   (target {})", pass.target_text)
                                : fmt::format("   (target {}, {})", pass.target_text, pass.target_from);
  std::string cusp = arrow(micrometre_range(before.cusp_min_um, before.cusp_max_um),
                           micrometre_range(after.cusp_min_um, after.cusp_max_um), both);
  bool const known = surface_known(pass); // else there is nothing to measure a cusp from
  text += labelled("cusp", (known ? cusp : "not known") + asked, 2);
  if (known)
    text += labelled(
        "Ra", arrow(plain_number(before.ra_um, 3) + " um", plain_number(after.ra_um, 3) + " um", both), 2);
  if (before.stepdown_max_mm > 0)
    text += labelled(pass.raster ? "stepover" : "stepdown",
                     arrow(stepdown_range(before), stepdown_range(after), both), 2);
  text += labelled("time", arrow(duration(before.time_s), duration(after.time_s), both), 2);
  if (before.effective_diameter_mm > 0)
    text +=
        labelled("engaged", arrow(engagement(before), engagement(after), both && after.chip_thinning > 0), 2);
  if (before.radial_thinning > 0)
    text += labelled("width",
                     arrow(width_of_cut(before), width_of_cut(after), both && after.radial_thinning > 0), 2);
  if (before.cutting_speed_m_min > 0)
    text += labelled("cutting", arrow(cutting_of(before), cutting_of(after), both), 2);
  if (pass.extended_levels > 0)
    text += labelled("extended",
                     fmt::format("{} levels above the program's first, {} mm up to tangency",
                                 pass.extended_levels, plain_number(pass.extended_mm, 4)),
                     2);
  else if (pass.uncovered_mm > 0)
    text += labelled("uncovered",
                     fmt::format("{} mm above the first level, up to tangency, are not cut by this pass",
                                 plain_number(pass.uncovered_mm, 4)),
                     2);
  if (!pass.not_extended.empty()) text += labelled("extended", "not: " + pass.not_extended, 2);
  if (both && (pass.peak_um > 0 || pass.gouge_um > 0)) {
    text += labelled("measured",
                     fmt::format("at most: cusp {} um, material left {} um, gouge {} um",
                                 plain_number(pass.written_cusp_um, 3), plain_number(pass.peak_um, 3),
                                 plain_number(pass.gouge_um, 3)),
                     2);
  }
  std::string const status = pass.status == finish::PassStatus::restepped ? "restepped" : "kept";
  if (both || !pass.reason.empty())
    text += labelled(both ? status : "note", pass.reason.empty() ? "as it was" : pass.reason, 2);
  return text + "\n";
}

/// All passes; of those that nobody would call a finishing pass only the first few.
std::string passes_text(ProgramReport const& report, bool both) {
  constexpr std::size_t most_unrecognised = 5;
  std::string text;
  std::size_t unrecognised = 0;
  for (finish::PassReport const& pass : report.passes) {
    if (surface_known(pass) || ++unrecognised <= most_unrecognised) text += pass_text(pass, both);
  }
  if (unrecognised > most_unrecognised) {
    text += labelled("passes", fmt::format("{} more stacks of levels were found and not recognised",
                                           unrecognised - most_unrecognised)) +
            "\n";
  }
  return text;
}

std::string reach_text(motion::Reach const& reach) {
  std::string text;
  for (int axis = 0; axis < 3; ++axis) {
    if (!(reach.low[axis] <= reach.high[axis])) continue;
    if (!text.empty()) text += "  ";
    text += fmt::format("{} {} to {}", "XYZ"[axis], plain_number(reach.low[axis], 4),
                        plain_number(reach.high[axis], 4));
  }
  return text.empty() ? "none" : text;
}

std::string cautions(ProgramReport const& report) {
  if (!speaks_of_cusps(report)) return {};
  return labelled("caution", "Cusp and Ra are those of the ideal tool and path. A cut surface is rougher: "
                             "runout, deflection, wear and the feed marks add to it.");
}

std::string count(std::uint64_t number, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", number, number == 1 ? one : many);
}

} // namespace

std::string labelled(std::string_view label, std::string_view text, std::size_t indent) {
  std::string result(indent, ' ');
  result += fmt::format("{:<{}}", label, label_width);
  std::size_t const start = indent + label_width;
  std::size_t column = start;
  std::size_t at = 0;
  while (at < text.size()) {
    // A run of blanks stays with the word behind it, so that columns inside one line keep their distance.
    std::size_t const word = text.find_first_not_of(' ', at);
    if (word == std::string_view::npos) break;
    std::size_t const end = std::min(text.find(' ', word), text.size());
    std::size_t const blanks = column == start ? 0 : word - at;
    if (column != start && column + blanks + (end - word) > terminal_width) {
      result += "\n" + std::string(start, ' ');
      column = start;
    } else {
      result.append(blanks, ' ');
      column += blanks;
    }
    result += text.substr(word, end - word);
    column += end - word;
    at = end;
  }
  return result + "\n";
}

std::string painted(std::string_view severity) {
  char const* const colour = severity == "error" ? "31" : severity == "warning" ? "33" : "36";
  return fmt::format("\033[1;{}m{}\033[0m", colour, severity);
}

std::string findings_text(ProgramReport const& report, FindingsStyle style) {
  std::string text;
  std::set<std::string> codes;
  for (text::Finding const& finding : sorted_findings(report.findings)) {
    if (finding.severity < style.least) continue;
    std::string one = text::format(finding, report.program);
    std::string_view const name = text::name_of(finding.severity);
    std::size_t const at = one.find(fmt::format(": {}: ", name), report.program.size());
    if (style.colour && at != std::string::npos) one.replace(at + 2, name.size(), painted(name));
    text += one;
    codes.insert(finding.code);
  }
  for (std::string const& code : codes) {
    if (std::size_t const more = report.findings.left_out(code); more != 0)
      text += fmt::format("{}: {} more of the kind {}\n", report.program, more, code);
  }
  return text;
}

std::string edits_text(ProgramReport const& report) {
  std::string text;
  std::size_t told = 0;
  for (EditRun const& run : folded(report.edits)) {
    std::string lines = run.first_line == 0 ? "added"
                        : run.first_line == run.last_line
                            ? fmt::format("{}", run.first_line)
                            : fmt::format("{}-{}", run.first_line, run.last_line);
    text += labelled(lines, fmt::format("{}: {}", run.stage, run.why));
    told += run.count;
  }
  if (told < report.edits.made())
    text += labelled("edits", fmt::format("{} more are not listed", report.edits.made() - told));
  return text;
}

std::string rewrite_summary(ProgramReport const& report) {
  std::string text = labelled("program", report.program);
  if (!report.machine.empty()) {
    text += labelled("machine", report.machine_title.empty()
                                    ? report.machine
                                    : fmt::format("{} ({})", report.machine, report.machine_title));
  }
  text += labelled("dialect", report.from_dialect == report.to_dialect
                                  ? report.to_dialect
                                  : fmt::format("{} -> {}", report.from_dialect, report.to_dialect));
  text += "\n";
  text += passes_text(report, true);
  if (!report.passes_unseen.empty())
    text += labelled("passes", "not looked for: " + report.passes_unseen) + "\n";
  else if (report.passes.empty())
    text += labelled("passes", "no finishing pass was found") + "\n";

  if (report.feeds.clamped != 0) {
    text += labelled("feeds",
                     fmt::format("{} clamped, the lowest to {} % of what was programmed",
                                 report.feeds.clamped, plain_number(report.feeds.lowest_ratio * 100, 1)));
  }
  text += chips_text(report);
  if (report.retracts_inserted != 0)
    text += labelled("retracts", fmt::format("{} inserted", report.retracts_inserted));
  std::string edits = fmt::format("{}", report.edits.made());
  for (motion::Edits::StageCount const& count : report.edits.by_stage())
    edits += fmt::format("{} {} {}", count.stage == report.edits.by_stage().front().stage ? ":" : ",",
                         count.stage, count.edits);
  text += labelled("edits", edits);
  if (report.failure) {
    auto const& failure = *report.failure;
    std::string what = "FAILED";
    if (failure.written_line != 0) what += fmt::format(" at line {} of the output", failure.written_line);
    if (failure.meant_line != 0) what += fmt::format(" (line {} of the program)", failure.meant_line);
    text += labelled(failure.written_line != 0 ? "read back" : "proof", what + ": " + failure.what);
  } else if (report.read_back) {
    text += labelled("blocks",
                     fmt::format("{} copied, {} written afresh", report.blocks.copied, report.blocks.afresh));
    if (report.blocks.linearised_arcs != 0)
      text += labelled("arcs", count(report.blocks.linearised_arcs, "arc", "arcs") + " written as chords");
    if (report.blocks.expanded_cycles != 0)
      text += labelled("cycles", count(report.blocks.expanded_cycles, "hole", "holes") + " written out");
    text += labelled("read back", fmt::format("{} agree, largest deviation {} um",
                                              count(report.read_back->motions, "motion", "motions"),
                                              plain_number(report.read_back->largest_deviation * 1000, 3)));
  }
  text += labelled("time",
                   fmt::format("{} -> {}", duration(report.seconds_before), duration(report.seconds_after)));
  text += labelled("output", report.output.empty()  ? "nothing was written"
                             : report.output == "-" ? "standard output"
                                                    : report.output);
  return text + cautions(report);
}

std::string inspect_summary(ProgramReport const& report) {
  std::string text = labelled("program", report.program);
  text += labelled("dialect", report.from_dialect);
  if (!report.machine.empty()) {
    text += labelled("machine", report.machine_title.empty()
                                    ? report.machine
                                    : fmt::format("{} ({})", report.machine, report.machine_title));
  }
  text += labelled("blocks", fmt::format("{}, {}", report.survey.blocks,
                                         count(report.survey.motions, "motion", "motions")));
  std::string tools;
  for (UsedTool const& tool : report.tools) {
    if (!tools.empty()) tools += ", ";
    tools += fmt::format("T{} {}", tool.number, tool.text.empty() ? "(not in the tool table)" : tool.text);
  }
  text += labelled("tools", tools.empty() ? "none named" : tools);
  text += labelled("cuts", reach_text(report.survey.cutting));
  text += labelled("rapids", reach_text(report.survey.rapids));
  text += labelled("time", duration(report.seconds_before));
  text += chips_text(report);
  text += labelled("end", report.survey.ends ? "M2 or M30" : "no M2 or M30");
  if (report.passes.empty()) {
    text += labelled("passes", "no finishing pass was found");
  } else {
    text += "\n";
    text += passes_text(report, false);
    if (!speaks_of_cusps(report)) text.pop_back();
  }
  return text + cautions(report);
}

} // namespace restep::report
