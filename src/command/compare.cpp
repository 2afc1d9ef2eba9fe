#include "proof/compare.hpp"

#include "command/command_line.hpp"
#include "command/setup.hpp"
#include "command/values.hpp"
#include "interpret/reader.hpp"
#include "motion/time_model.hpp"
#include "proof/event_text.hpp"
#include "report/json.hpp"
#include "report/program_report.hpp"
#include "report/terminal.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <memory>

namespace restep::command {

namespace {

using proof::plain_number;

struct CompareOptions {
  std::string a, b;
  std::string from_a, from_b;
  std::string tolerance = "1um";
  std::string shift;
  std::string json;
  Talk talk;
};

/// Deviations below this, mm, are what decimal arithmetic leaves behind.
constexpr double no_deviation = 1e-6;

/// One of the two programs, timed while it is read.
class Side final : public motion::StepSource {
public:
  Side(std::string path, text::Input input, dialect::Dialect const& dialect)
      : path_(std::move(path))
      , has_tool_change_(dialect.tool_change)
      , has_length_offset_(dialect.length_offset)
      , input_(std::move(input))
      , reader_(input_, dialect.read, findings_)
      , time_(motion::Machine{}) {}

  bool next(motion::Step& step) override {
    if (!reader_.next(step)) return false;
    time_.add(step);
    input_.release_before(step.place.offset);
    return true;
  }

  std::string const& path() const { return path_; }
  text::Input const& input() const { return input_; }
  text::Findings const& findings() const { return findings_; }
  bool has_tool_change() const { return has_tool_change_; }
  bool has_length_offset() const { return has_length_offset_; }
  double seconds() { return time_.seconds(); }
  std::string text_of(text::Place place) const { return input_.text_of(place); }

private:
  std::string path_;
  bool has_tool_change_, has_length_offset_;
  text::Input input_;
  text::Findings findings_;
  interpret::ProgramReader reader_;
  motion::TimeModel time_;
};

Expected<std::unique_ptr<Side>> open_side(std::string const& path, std::string const& from) {
  auto const dialect = load_dialect_option(from);
  if (!dialect) return tl::unexpected(dialect.error());
  auto input = text::Input::open(path);
  if (!input) return tl::unexpected(file_failure(input.error()));
  return std::make_unique<Side>(path, std::move(*input), *dialect);
}

std::string at(Side const& side, text::Place place) {
  if (place.line == 0) return fmt::format("  {}: no cut\n", side.path());
  return fmt::format("  {}:{}: {}\n", side.path(), place.line, trimmed(side.text_of(place)));
}

Expected<motion::Vec3> read_shift(std::string const& text) {
  auto shift = parse_axes(text);
  if (!shift)
    return wrong_usage(fmt::format("shift '{}': {}", text, shift.error().message),
                       "write 'X10 Y-5 Z0.2', mm");
  for (int axis = 0; axis < 3; ++axis)
    if (!motion::is_known((*shift)[axis])) (*shift)[axis] = 0;
  return shift;
}

/// What the two controls' words cannot both say.
std::vector<std::string> not_compared(proof::CompareRules const& rules) {
  std::vector<std::string> kinds;
  if (!rules.tools) kinds.emplace_back("tool");
  if (!rules.length_offsets) kinds.emplace_back("tool length offset");
  return kinds;
}

std::string text_of(proof::Comparison const& result, proof::CompareRules const& rules, Side& a, Side& b,
                    double tolerance) {
  std::string text;
  auto const tell = [&](proof::CutDifference const& difference) {
    text += report::labelled("different", difference.what);
    text += at(a, difference.a) + at(b, difference.b);
  };
  if (result.path) tell(*result.path);
  for (proof::CutDifference const& difference : result.states)
    tell(difference);
  if (result.same()) {
    text += result.largest_deviation <= no_deviation
                ? "the same cut\n"
                : fmt::format("the same cut within {} um\n", plain_number(tolerance * 1000, 3));
  }
  text += report::labelled("deviation",
                           fmt::format("{} um at most{}", plain_number(result.largest_deviation * 1000, 3),
                                       result.path ? " before the ways part" : ""));
  for (auto const& [side, cuts, length] :
       {std::tuple{&a, result.cuts_a, result.length_a}, std::tuple{&b, result.cuts_b, result.length_b}}) {
    text += report::labelled(side == &a ? "A" : "B",
                             fmt::format("{}: {} cuts, {} mm, {}", side->path(), cuts,
                                         plain_number(length, 3), report::duration(side->seconds())));
  }
  auto const left_out = not_compared(rules);
  if (!left_out.empty())
    text += report::labelled("left out",
                             fmt::format("{}: not a word of both controls", fmt::join(left_out, ", ")));
  return text;
}

nlohmann::ordered_json json_of(proof::Comparison const& result, proof::CompareRules const& rules, Side& a,
                               Side& b, double tolerance) {
  nlohmann::ordered_json differences = nlohmann::ordered_json::array();
  auto const tell = [&](proof::CutDifference const& difference, char const* kind) {
    differences.push_back({{"kind", kind},
                           {"line_a", difference.a.line},
                           {"line_b", difference.b.line},
                           {"what", difference.what}});
  };
  if (result.path) tell(*result.path, "path");
  for (proof::CutDifference const& difference : result.states)
    tell(difference, "state");
  auto const side = [](Side& s, std::uint64_t cuts, double length) {
    return nlohmann::ordered_json{{"program", s.path()},
                                  {"cuts", cuts},
                                  {"length_mm", report::millimetres(length)},
                                  {"time_s", report::seconds(s.seconds())}};
  };
  return {{"same", result.same()},
          {"tolerance_um", report::micrometres(tolerance * 1000)},
          {"deviation_um", report::micrometres(result.largest_deviation * 1000)},
          {"shift_mm", rules.shift ? nlohmann::ordered_json{rules.shift->x, rules.shift->y, rules.shift->z}
                                   : nlohmann::ordered_json()},
          {"not_compared", not_compared(rules)},
          {"differences", differences},
          {"a", side(a, result.cuts_a, result.length_a)},
          {"b", side(b, result.cuts_b, result.length_b)}};
}

/// What could not be understood; true when the comparison means nothing.
Expected<bool> unreadable(Side const& side, Console const& console) {
  report::ProgramReport report;
  report.program = side.path();
  report.findings = side.findings();
  tell_findings(console, report);
  if (!side.input().error().what.empty()) return tl::unexpected(file_failure(side.input().error()));
  return side.findings().has_errors();
}

ExitCode compare(CompareOptions const& options, Console const& whole_console) {
  Console const console = talking(whole_console, options.talk);
  if (options.a == "-" && options.b == "-")
    return complain(console, {ExitCode::usage, "only one of the programs can be standard input", {}});
  auto const tolerance = parse_length(options.tolerance);
  if (!tolerance) return complain(console, tolerance.error());
  auto a = open_side(options.a, options.from_a);
  if (!a) return complain(console, a.error());
  auto b = open_side(options.b, options.from_b);
  if (!b) return complain(console, b.error());

  proof::CompareRules rules;
  rules.tolerance = std::max(*tolerance, no_deviation);
  rules.tools = (*a)->has_tool_change() && (*b)->has_tool_change();
  rules.length_offsets = (*a)->has_length_offset() && (*b)->has_length_offset();
  if (!options.shift.empty()) {
    auto const shift = read_shift(options.shift);
    if (!shift) return complain(console, shift.error());
    rules.shift = *shift;
  }
  proof::Comparison const result = proof::compare_cuts(**a, **b, rules);
  bool refused = false;
  for (Side const* side : {a->get(), b->get()}) {
    auto const bad = unreadable(*side, console);
    if (!bad) return complain(console, bad.error());
    refused = refused || *bad;
  }
  if (refused) {
    console.err << "restep: a program that is not understood cannot be compared\n";
    return ExitCode::refused;
  }
  if (options.json != "-" && !options.talk.quiet) console.out << text_of(result, rules, **a, **b, *tolerance);
  if (!options.json.empty()) {
    auto const written = write_json(console, json_of(result, rules, **a, **b, *tolerance), options.json);
    if (!written) return complain(console, written.error());
  }
  return result.same() ? ExitCode::done : ExitCode::refused;
}

} // namespace

Command add_compare(CLI::App& app) {
  auto const options = std::make_shared<CompareOptions>();
  CLI::App* line = app.add_subcommand("compare", "is it the same cut?");
  line->add_option("A", options->a, "one program; '-' is standard input")->type_name("")->required();
  line->add_option("B", options->b, "the other")->type_name("")->required();
  line->add_option("--from-a", options->from_a, "dialect of A (rs274ngc)")->type_name("NAME|FILE");
  line->add_option("--from-b", options->from_b, "dialect of B (rs274ngc)")->type_name("NAME|FILE");
  line->add_option("--tol", options->tolerance, "how far the ways may part (1um)")->type_name("LEN");
  line->add_option("--shift", options->shift, "B is A moved by this: 'X10 Y-5 Z0.2'")->type_name("AXES");
  line->add_option("--json", options->json, "the result as JSON; '-' is standard output")->type_name("FILE");
  line->add_flag("-q,--quiet", options->talk.quiet, "warnings, errors and the exit status alone");
  line->footer(R"(
Examples:
  restep compare old.nc new.nc
  restep compare posted.nc mill.nc --from-b small-firmware --tol 2um
  restep compare left.nc right.nc --shift 'X120')");
  return {line, [options](Console const& console) { return compare(*options, console); }};
}

} // namespace restep::command
