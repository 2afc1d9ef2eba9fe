// Blocks that only the machine can work out: carried unchanged, or not written at all.
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"

#include <catch2/catch.hpp>

using namespace restep;

namespace {

struct Written {
  std::string text;
  std::string error;
};

/// The program written afresh, every block of it, as behind a stage that changed them all.
Written write_afresh(std::string_view program) {
  auto const dialect = dialect::load_dialect(RESTEP_SOURCE_DIR "/profiles/dialects/rs274ngc.toml").value();
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  Written written;
  interpret::ProgramReader reader(input, dialect.read, findings);
  dialect::BlockWriter writer(dialect, input, [&](std::string_view bytes) { written.text += bytes; },
                              findings, {.verbatim = true});
  motion::Step step;
  while (reader.next(step)) {
    step.touched = true;
    writer.write(step);
  }
  writer.finish();
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error && written.error.empty()) written.error = finding.code;
  return written;
}

bool holds(std::string const& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

} // namespace

TEST_CASE("A carried move that needs only the control's own values is written as it stood") {
  auto const written = write_afresh("G21 G90 G17 G94\nG0 X1 Y1 Z1\nX[#5061+1] Y2\nX3 Y3 Z3\nM30\n");
  CHECK(written.error.empty());
  CHECK(holds(written.text, "X[#5061+1] Y2"));
}

TEST_CASE("Behind a carried move every mode and coordinate is said again") {
  auto const written = write_afresh("G21 G90 G17 G94\nG0 X1 Y1 Z1\nX[#5061+1] Y2\nX3 Y3 Z3\nM30\n");
  auto const behind = written.text.substr(written.text.find("#5061"));
  CHECK(holds(behind, "G90"));
  CHECK(holds(behind, "G0 X3 Y3 Z3"));
}

TEST_CASE("A carried move that needs a parameter of the program is refused where it cannot be copied") {
  CHECK(write_afresh("G21 G90\nG0 X1 Y1 Z1\n#100=#5061\nX#100\nM30\n").error == "carried-with-parameters");
}
