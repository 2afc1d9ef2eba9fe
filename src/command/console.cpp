#include "command/console.hpp"

#include "report/terminal.hpp"
#include "text/output.hpp"

#include <fmt/format.h>

#include <cstdlib>

namespace restep::command {

Console talking(Console const& console, Talk const& talk) {
  return {console.out, console.err, console.terminal && !talk.quiet, console.colour, talk.quiet};
}

bool wants_colour(bool terminal) {
  char const* const plain = std::getenv("NO_COLOR");
  return terminal && (plain == nullptr || *plain == '\0');
}

void tell_findings(Console const& console, report::ProgramReport const& report) {
  text::Severity const least = console.quiet ? text::Severity::warning : text::Severity::note;
  console.err << report::findings_text(report, {.least = least, .colour = console.colour});
}

ExitCode complain(Console const& console, Failure const& failure) {
  console.err << fmt::format("restep: {}: {}\n", console.colour ? report::painted("error") : "error",
                             failure.message);
  if (!failure.hint.empty()) console.err << fmt::format("  {}\n", failure.hint);
  return failure.code;
}

Failure file_failure(text::FileError const& error) {
  return {ExitCode::files, fmt::format("{}: {}", error.path, error.what), {}};
}

Expected<void> check_writable(std::initializer_list<std::string> paths) {
  for (std::string const& path : paths) {
    if (path.empty() || path == "-") continue;
    auto const output = text::AtomicOutput::create(path, "");
    if (!output) return tl::unexpected(file_failure(output.error()));
  }
  return {};
}

Expected<void> write_file(std::string const& text, std::string const& path) {
  auto output = text::AtomicOutput::create(path, "");
  if (!output) return tl::unexpected(file_failure(output.error()));
  output->write(text);
  if (auto const done = output->commit(); !done) return tl::unexpected(file_failure(done.error()));
  return {};
}

Expected<void> write_json(Console const& console, nlohmann::ordered_json const& json,
                          std::string const& path) {
  // Names and comments may hold bytes that are not UTF-8; they are replaced, since JSON cannot say them.
  std::string const text = json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
  if (path == "-") {
    console.out << text << std::flush;
    if (!console.out)
      return tl::unexpected(Failure{ExitCode::files, "standard output cannot be written", {}});
    return {};
  }
  return write_file(text, path);
}

} // namespace restep::command
