#include "command/comparing.hpp"

#include "command/values.hpp"
#include "interpret/reader.hpp"
#include "motion/time_model.hpp"
#include "proof/compare.hpp"
#include "report/written_path.hpp"

#include <algorithm>
#include <memory>

namespace restep::command {

namespace {

/// One of the two programs, timed and drawn while it is read.
class Side final : public motion::StepSource {
public:
  Side(std::string program, text::Input input, dialect::Dialect const& dialect, bool record_path)
      : input_(std::move(input))
      , reader_(input_, dialect.read, findings_)
      , time_(motion::Machine{})
      , course_(result_.path)
      , record_path_(record_path) {
    result_.program = std::move(program);
  }

  bool next(motion::Step& step) override {
    if (!reader_.next(step)) return false;
    time_.add(step);
    if (record_path_)
      course_.see(step, step.place.line, false,
                  [&] { return std::string(trimmed(input_.text_of(step.place))); });
    input_.release_before(step.place.offset);
    return true;
  }
  bool next_stretch(motion::Stretch& cuts) override {
    if (record_path_ || !reader_.next_stretch(cuts)) return false;
    time_.add(cuts);
    input_.release_before(cuts.places()[0].offset);
    return true;
  }

  text::Input const& input() const { return input_; }
  text::Findings const& findings() const { return findings_; }
  report::ComparedBlock block(text::Place place) const {
    if (place.line == 0) return {};
    return {place.line, std::string(trimmed(input_.text_of(place)))};
  }
  report::ComparedProgram result(std::uint64_t cuts, double length) {
    result_.cuts = cuts;
    result_.length = length;
    result_.seconds = time_.seconds();
    return result_;
  }

private:
  report::ComparedProgram result_;
  text::Input input_;
  text::Findings findings_;
  interpret::ProgramReader reader_;
  motion::TimeModel time_;
  report::ReadPath course_;
  bool record_path_;
};

Expected<std::unique_ptr<Side>> open_side(std::string const& path, dialect::Dialect const& dialect,
                                          bool record_path) {
  auto input = text::Input::open(path);
  if (!input) return tl::unexpected(file_failure(input.error()));
  return std::make_unique<Side>(path, std::move(*input), dialect, record_path);
}

/// What the two controls' words cannot both say.
std::vector<std::string> not_compared(proof::CompareRules const& rules) {
  std::vector<std::string> kinds;
  if (!rules.tools) kinds.emplace_back("tool");
  if (!rules.length_offsets) kinds.emplace_back("tool length offset");
  return kinds;
}

/// Tells what could not be understood; true when the comparison means nothing.
Expected<bool> unreadable(std::string const& program, Side const& side, Console const& console) {
  report::ProgramReport report;
  report.program = program;
  report.findings = side.findings();
  tell_findings(console, report);
  if (!side.input().error().what.empty()) return tl::unexpected(file_failure(side.input().error()));
  return side.findings().has_errors();
}

report::ComparisonReport make_report(proof::Comparison const& found, proof::CompareRules const& rules,
                                     Side& a, Side& b) {
  report::ComparisonReport report;
  auto const tell = [&](proof::CutDifference const& difference, bool of_path) {
    report.differences.push_back(
        {of_path, difference.what, a.block(difference.a), b.block(difference.b), difference.at});
  };
  if (found.path) tell(*found.path, true);
  for (proof::CutDifference const& difference : found.states)
    tell(difference, false);
  report.a = a.result(found.cuts_a, found.length_a);
  report.b = b.result(found.cuts_b, found.length_b);
  report.deviation = found.largest_deviation;
  report.deviation_a = a.block(found.largest_a);
  report.deviation_b = b.block(found.largest_b);
  report.deviation_at = found.largest_at;
  report.shift = rules.shift;
  report.not_compared = not_compared(rules);
  return report;
}

} // namespace

Expected<report::ComparisonReport> compare_programs(Pair const& pair, Console const& console) {
  auto a = open_side(pair.a, pair.from_a, pair.record_path);
  if (!a) return tl::unexpected(a.error());
  auto b = open_side(pair.b, pair.from_b, pair.record_path);
  if (!b) return tl::unexpected(b.error());
  proof::CompareRules rules;
  rules.tolerance = std::max(pair.tolerance, report::no_deviation);
  rules.tools = pair.from_a.tool_change && pair.from_b.tool_change;
  rules.length_offsets = pair.from_a.length_offset && pair.from_b.length_offset;
  rules.shift = pair.shift;
  proof::Comparison const found = proof::compare_cuts(**a, **b, rules);
  bool refused = false;
  for (auto const& [program, side] : {std::pair{pair.a, a->get()}, std::pair{pair.b, b->get()}}) {
    auto const bad = unreadable(program, *side, console);
    if (!bad) return tl::unexpected(bad.error());
    refused = refused || *bad;
  }
  if (refused)
    return tl::unexpected(
        Failure{ExitCode::refused, "a program that is not understood cannot be compared", {}});
  report::ComparisonReport report = make_report(found, rules, **a, **b);
  report.tolerance = pair.tolerance;
  return report;
}

} // namespace restep::command
