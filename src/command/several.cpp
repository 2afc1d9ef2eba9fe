// Several programs, or one for several machines: how all of them fared, and whether they cut the same.

#include "command/several.hpp"

#include "command/comparing.hpp"
#include "report/terminal.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace restep::command {

namespace {

std::string_view verdict(ExitCode code) {
  switch (code) {
  case ExitCode::done: return "written";
  case ExitCode::refused: return "refused";
  case ExitCode::proof_failed: return "failed";
  case ExitCode::usage:
  case ExitCode::files: break;
  }
  return "no file";
}

std::string_view why_nothing(ExitCode code) {
  switch (code) {
  case ExitCode::proof_failed: return "the proof failed, nothing was written";
  case ExitCode::files: return "it cannot be read or written";
  case ExitCode::done:
  case ExitCode::refused:
  case ExitCode::usage: break;
  }
  return "nothing was written";
}

} // namespace

Told told_of(Outcome const& outcome) {
  report::ProgramReport const& report = outcome.report;
  Told told;
  told.code = outcome.code;
  told.program = report.output.empty() ? report.program : report.output;
  told.passes_looked_for = report.passes_unseen.empty();
  told.passes = report.passes.size();
  told.restepped = static_cast<std::size_t>(
      std::count_if(report.passes.begin(), report.passes.end(),
                    [](auto const& pass) { return pass.status == finish::PassStatus::restepped; }));
  told.seconds_before = report.seconds_before;
  told.seconds_after = report.seconds_after;
  if (report.read_back) told.largest_deviation = report.read_back->largest_deviation;
  return told;
}

std::string table_of(std::vector<Told> const& told) {
  std::string table;
  for (Told const& one : told) {
    table += one.program + "\n";
    std::string const how =
        one.code == ExitCode::done
            ? fmt::format("{}{} -> {}",
                          one.passes_looked_for
                              ? fmt::format("{} of {} passes re-stepped, ", one.restepped, one.passes)
                              : "",
                          report::duration(one.seconds_before), report::duration(one.seconds_after))
            : std::string(why_nothing(one.code));
    table += report::labelled(verdict(one.code), how, 2);
  }
  return table;
}

Expected<bool> compare_machines(std::vector<Task> const& tasks, std::vector<Told>& told,
                                std::vector<Setup> const& setups, Console const& console, bool quiet,
                                std::ostream& summary) {
  bool same = true;
  for (std::size_t k = 0; k < tasks.size(); ++k) {
    std::size_t const first = k - tasks[k].machine;
    if (k == first || told[k].code != ExitCode::done || told[first].code != ExitCode::done) continue;
    Pair pair;
    pair.a = tasks[first].output;
    pair.b = tasks[k].output;
    pair.from_a = setups[0].to;
    pair.from_b = setups[tasks[k].machine].to;
    // What each read-back found between the program and its digits and chords, and what the levels' digits
    // and the path's tolerance leave open.
    pair.tolerance = told[first].largest_deviation + told[k].largest_deviation + setups[0].path_tolerance;
    auto const report = compare_programs(pair, console);
    if (!report) return tl::unexpected(report.error());
    if (!quiet) summary << report::comparison_text(*report) << '\n';
    if (!told[k].json.is_null()) told[k].json["comparison"] = report::to_json(*report);
    if (report->same_path()) continue;
    bool const chosen = told[first].restepped + told[k].restepped != 0;
    console.err << fmt::format("{} and {} do not cut the same way{}\n", pair.a, pair.b,
                               chosen ? ": levels are chosen for each control's digits and proven for each"
                                      : "");
    same = same && chosen;
  }
  return same;
}

} // namespace restep::command
