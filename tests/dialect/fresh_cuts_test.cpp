#include "motion/stretch.hpp"
#include "program.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <string>

using namespace restep;
using namespace restep::dialect_test;
using restep::property::draw;

namespace {

bool coin() {
  return draw(0, 2) == 1;
}
bool rarely() {
  return draw(0, 12) == 1;
}

/// Cuts upon cuts, and now and then something else between them.
std::string program() {
  std::string text = rarely() ? "G20 G90 G17 G94\n" : "G21 G90 G17 G94\n";
  text += "S8000 M3\nG0 X0 Y0 Z0\nG1 Z-1 F300.\n";
  int const longest = coin() ? 20000 : 60;
  for (int i = 0; i < 80; ++i) {
    if (draw(0, 25) == 1) {
      static char const* const others[] = {"(a yoke)", "F212.5", "G0 Z5.\nG1 Z-1.",     "M8",       "S900",
                                           "G4 P1.",   "/X5.",   "G2 X1. Y1. R20.\nG1", "F33.33333"};
      text += others[draw(0, 9)];
    } else {
      for (char const axis : {'X', 'Y', 'Z'})
        if (draw(0, 4) > 0) text += fmt::format("{}{:.4f} ", axis, draw(-longest, longest + 1) * 1e-4);
      if (rarely()) text += rarely() ? "X8000000000." : "F250.";
    }
    text += "\n";
  }
  return text + "M30\n";
}

dialect::Dialect some_dialect() {
  static char const* const names[] = {"rs274ngc", "iso6983", "least-increment", "short-lines",
                                      "small-firmware"};
  dialect::Dialect to = shipped(names[draw(0, 5)]);
  to.name = "another";
  to.decimals_mm = draw(2, 6);
  to.decimals_feed = draw(0, 4);
  to.always_point = coin();
  to.trailing_zeros = coin();
  to.plus_sign = rarely();
  to.spaces = coin();
  to.line_numbers = rarely();
  to.repeat_codes = rarely();
  to.repeat_axes = rarely();
  to.repeat_feed = rarely();
  to.incremental_moves = rarely();
  if (rarely()) to.max_line_length = static_cast<std::size_t>(draw(12, 40));
  if (rarely()) to.word_order = coin() ? "NGXYZ" : "NGZXY";
  return to;
}

/// F stands behind axis words.
bool says_feeds_again(std::string const& program) {
  return program.find(" F250.") != std::string::npos;
}

void scale(motion::Stretch& cuts, double share) {
  cuts.like.feed *= share;
  cuts.other_feed = share != 1;
}

void scale(motion::Step& step, double share) {
  auto* const move = motion::motion_of(step);
  if (share == 1 || move == nullptr || !motion::is_cutting(*move)) return;
  move->feed *= share;
  step.other_feed = true;
}

/// All feeds are `share` of what they were.
Written rewrite_in_stretches(std::string const& program, dialect::Dialect const& from,
                             dialect::Dialect const& to, double share = 1) {
  Written written;
  text::Findings findings;
  auto input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, from.read, findings);
  dialect::BlockWriter writer(to, input, [&](std::string_view text) { written.text += text; }, findings,
                              {.verbatim = from.name == to.name});
  motion::for_each(reader, [&](auto const& passing) {
    auto changed = passing;
    scale(changed, share);
    writer.write(changed);
    return true;
  });
  writer.finish();
  written.findings = findings.all();
  written.count = writer.count();
  return written;
}

} // namespace

TEST_CASE("cuts are written afresh alike whether they come in stretches or one by one", "[fresh]") {
  dialect::Dialect const from = shipped("rs274ngc");
  CHECK(property::holds_often(3000, [&] {
    std::string const text = program();
    dialect::Dialect const to = some_dialect();
    Written const stretches = rewrite_in_stretches(text, from, to), steps = rewrite(text, from, to);
    if (stretches.text != steps.text)
      RC_FAIL(text + "--- in stretches ---\n" + stretches.text + "--- in steps ---\n" + steps.text);
    RC_ASSERT(stretches.count.afresh == steps.count.afresh);
    RC_ASSERT(stretches.errors() == steps.errors());
    RC_ASSERT(stretches.findings.size() == steps.findings.size());
  }));
}

TEST_CASE("cuts with another feed are written alike whether they come in stretches or one by one",
          "[fresh]") {
  dialect::Dialect const dialect = shipped("rs274ngc");
  std::uint64_t copied = 0;
  CHECK(property::holds_often(3000, [&] {
    std::string const text = program();
    double const share = coin() ? 0.5 : 0.75;
    Written const stretches = rewrite_in_stretches(text, dialect, dialect, share);
    Written const steps = rewrite(text, [share](motion::Step& step, auto const&) {
      scale(step, share);
      return true;
    });
    copied += steps.count.copied;
    auto const fail = [&](std::string const& why) {
      RC_FAIL(why + "\n" + text + "--- in stretches ---\n" + stretches.text + "--- in steps ---\n" +
              steps.text);
    };
    RC_ASSERT(stretches.errors() == steps.errors());
    if (!says_feeds_again(text)) return stretches.text == steps.text ? void() : fail("another text");
    // A stretch among whose blocks is one that says F again is written afresh as a whole.
    if (!steps.errors().empty()) return;
    auto const apart = difference(course(steps.text, dialect, 0), course(stretches.text, dialect, 0), 1e-9);
    if (!apart.empty()) fail(apart);
  }));
  CHECK(copied > 20'000);
}
