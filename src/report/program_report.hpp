#pragma once

#include "dialect/writer.hpp"
#include "finish/pass_report.hpp"
#include "motion/edit.hpp"
#include "motion/survey.hpp"
#include "proof/read_back.hpp"
#include "text/finding.hpp"
#include "transform/cutting_check.hpp"
#include "transform/transform.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace restep::report {

/// A tool the program uses and how the tool table describes it; empty when the table has no such tool.
struct UsedTool {
  int number = 0;
  std::string text;
  int flutes = 0; ///< 0 where the table does not say
};

/// Everything one run over one program found and did. What the terminal and the JSON show is made from this
/// alone.
struct ProgramReport {
  std::string program; ///< as the user named it
  std::string machine; ///< empty when none was named
  std::string machine_title;
  std::string from_dialect, to_dialect;
  std::string output; ///< empty when nothing was written
  std::string target; ///< the finish asked for, as written; empty when none

  motion::Survey survey;
  std::vector<UsedTool> tools;
  std::vector<finish::PassReport> passes;
  std::string passes_unseen; ///< why they were not looked for; empty where they were
  transform::Context::Feeds feeds;
  std::vector<transform::ToolFigures> cutting_before, cutting_after; ///< tools in order of first use
  std::uint64_t retracts_inserted = 0;
  motion::Edits edits;
  text::Findings findings;

  dialect::BlockWriter::Count blocks;
  std::optional<proof::ReadBackResult> read_back; ///< set when the output was read back to its end
  std::optional<proof::ReadBackFailure> failure;
  double seconds_before = 0, seconds_after = 0;
};

/// Edits of one stage with one reason on lines that follow each other.
struct EditRun {
  std::uint32_t first_line = 0, last_line = 0;
  std::size_t count = 0;
  std::string_view stage;
  std::string_view why;
};
std::vector<EditRun> folded(motion::Edits const& edits);

/// Findings by severity, worst first, then by line.
std::vector<text::Finding> sorted_findings(text::Findings const& findings);

/// "bull 3 r0.3" and the like for the tools that the survey met.
std::vector<UsedTool> used_tools(motion::Survey const& survey, cutter::ToolTable const& table);

/// "convex round R1.50", "draft 3.0 deg", "wall": a piece as the drawing names it.
std::string describe(cutter::Surface const& surface);

/// "8.4 s", "2 min 03 s", "1 h 02 min 03 s"; "unknown" when it is not a number.
std::string duration(double seconds);

/// A finishing pass: what it cuts is known, by pieces, place by place, or from line to line.
bool surface_known(finish::PassReport const& pass);

/// True when the cusps of some pass were planned or measured, so that the caution about real surfaces is due.
bool speaks_of_cusps(ProgramReport const& report);

} // namespace restep::report
