#include "command/command_line.hpp"
#include "command/comparing.hpp"
#include "command/setup.hpp"
#include "command/values.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <memory>

namespace restep::command {

namespace {

struct CompareOptions {
  std::string a, b;
  std::string from_a, from_b;
  std::string tolerance = "1um";
  std::string shift;
  std::string json;
  std::string html;
  Talk talk;
};

Expected<motion::Vec3> read_shift(std::string const& text) {
  auto shift = parse_axes(text);
  if (!shift)
    return wrong_usage(fmt::format("shift '{}': {}", text, shift.error().message),
                       "write 'X10 Y-5 Z0.2', mm");
  for (int axis = 0; axis < 3; ++axis)
    if (!motion::is_known((*shift)[axis])) (*shift)[axis] = 0;
  return shift;
}

Expected<Pair> read_options(CompareOptions const& options) {
  if (options.a == "-" && options.b == "-")
    return wrong_usage("only one of the programs can be standard input");
  if (options.html == "-") return wrong_usage("the report wants a file", "--report FILE.html");
  Pair pair;
  pair.a = options.a;
  pair.b = options.b;
  pair.record_path = !options.html.empty();
  auto const tolerance = parse_length(options.tolerance);
  if (!tolerance) return tl::unexpected(tolerance.error());
  pair.tolerance = *tolerance;
  for (auto const& [name, dialect] :
       {std::pair{&options.from_a, &pair.from_a}, std::pair{&options.from_b, &pair.from_b}}) {
    auto loaded = load_dialect_option(*name);
    if (!loaded) return tl::unexpected(loaded.error());
    *dialect = std::move(*loaded);
  }
  if (!options.shift.empty()) {
    auto const shift = read_shift(options.shift);
    if (!shift) return tl::unexpected(shift.error());
    pair.shift = *shift;
  }
  return pair;
}

ExitCode compare(CompareOptions const& options, Console const& whole_console) {
  Console const console = talking(whole_console, options.talk);
  auto const pair = read_options(options);
  if (!pair) return complain(console, pair.error());
  if (auto const can = check_writable({options.html, options.json}); !can)
    return complain(console, can.error());
  auto const report = compare_programs(*pair, console);
  if (!report) return complain(console, report.error());
  if (options.json != "-" && !options.talk.quiet) console.out << report::comparison_text(*report);
  if (!options.html.empty()) {
    auto const written = write_file(report::comparison_page(*report), options.html);
    if (!written) return complain(console, written.error());
  }
  if (!options.json.empty()) {
    auto const written = write_json(console, report::to_json(*report), options.json);
    if (!written) return complain(console, written.error());
  }
  return report->same() ? ExitCode::done : ExitCode::refused;
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
  line->add_option("--report", options->html, "the result with figures, one HTML file")
      ->type_name("FILE.html");
  line->add_option("--json", options->json, "the result as JSON; '-' is standard output")->type_name("FILE");
  line->add_flag("-q,--quiet", options->talk.quiet, "warnings, errors and the exit status alone");
  line->footer(R"(
Examples:
  restep compare old.nc new.nc
  restep compare posted.nc mill.nc --from-b small-firmware --tol 2um
  restep compare old.nc new.nc --report difference.html
  restep compare left.nc right.nc --shift 'X120')");
  return {line, [options](Console const& console) { return compare(*options, console); }};
}

} // namespace restep::command
