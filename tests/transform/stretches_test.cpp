// What goes through the stages in stretches comes out as what goes through them step by step.

#include "interpret/reader.hpp"
#include "motion/stretch.hpp"
#include "steps.hpp"
#include "tests/draw.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <rapidcheck.h>
#include <string>
#include <vector>

using namespace restep;
using namespace restep::transform;
using property::draw;
using transform::testing::Bench;

namespace {

/// Lines over a surface, levels, a spiral, slopes: chords of about 0.1 mm at four decimals.
std::string any_program() {
  std::string program = fmt::format("G21 G90 G94 G17\n{}S{} M3\nG0 X0 Y0\nZ5\nG1 Z0 F{}\nF{}\n",
                                    draw(0, 2) == 0 ? "T1 M6\n" : "", draw(0, 2) == 0 ? 6000 : 20000,
                                    draw(100, 400), draw(300, 1500));
  double x = 0, y = 0, z = 0;
  auto const cut = [&] { program += fmt::format("X{:.4f} Y{:.4f} Z{:.4f}\n", x, y, z); };
  int const pieces = draw(2, 9);
  for (int piece = 0; piece < pieces; ++piece) {
    int const chords = draw(3, 900);
    int const kind = draw(0, 7);
    double const slope = draw(-100, 100) / 200.0, bend = draw(1, 60) / 100.0;
    for (int i = 0; i < chords; ++i) {
      x += kind == 3 ? 0.1 * std::cos(i * bend) : 0.1;
      y += kind == 3 ? 0.1 * std::sin(i * bend) : kind == 4 ? 0.03 * std::sin(i * bend) : 0;
      if (kind == 0) z -= 0.05 * slope * slope;
      if (kind == 1) z += 0.1 * slope;
      if (kind == 2) z = std::sin(x * bend);
      if (kind == 3 && slope > 0) z -= 0.001;
      if (kind == 5 && i % 7 == 0) z -= 0.02;
      if (kind == 6 && i % 2 == 0) z -= 0.4; // steep
      cut();
    }
    switch (draw(0, 8)) {
    case 0:
      program += "G0 Z3\nX0\nG1 Z0\n";
      x = z = 0;
      break;
    case 1: program += fmt::format("F{}\n", draw(200, 3000)); break;
    case 2: program += "(remark)\n"; break;
    case 3: program += "M8\n"; break;
    case 4: program += "T2 M6\n"; break;
    case 5: program += "G4 P1\n"; break;
    case 6:
      y += 0.5;
      cut();
      break;
    default: break;
    }
  }
  return program + "G0 Z5\nM30\n";
}

struct Outcome {
  std::vector<motion::Step> steps;
  std::string told;
  std::size_t in_stretches = 0;
};

Outcome run_stages(std::string const& program, motion::Survey const& survey, motion::Machine const& machine,
                   bool in_stretches) {
  Bench bench;
  bench.machine = machine;
  bench.survey = survey;
  text::Input input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, {}, bench.findings);
  std::vector<std::unique_ptr<motion::StepSource>> chain;
  motion::StepSource* last = &reader;
  for (Stage const& stage : stages())
    if (!stage.on_request) {
      chain.push_back(stage.make(*last, bench.context));
      last = chain.back().get();
    }
  Outcome outcome;
  if (in_stretches) {
    motion::for_each(*last, [&](auto const& passing) {
      if constexpr (std::is_same_v<decltype(passing), motion::Stretch const&>)
        outcome.in_stretches += passing.size;
      motion::for_each_step(passing, [&](motion::Step const& step) { outcome.steps.push_back(step); });
      return true;
    });
  } else {
    motion::Step step;
    while (last->next(step))
      outcome.steps.push_back(step);
  }
  for (text::Finding const& finding : bench.findings.all())
    outcome.told += fmt::format("{}: {}\n", finding.line, finding.message);
  for (motion::Edit const& edit : bench.edits.all())
    outcome.told += fmt::format("{}: {} {}\n", edit.line, edit.stage, edit.why);
  for (finish::PassReport const& pass : bench.context.passes)
    outcome.told += fmt::format("pass {} {} {} {:.6g} {}\n", pass.index, pass.first_line, pass.last_line,
                                pass.before.time_s, pass.reason);
  return outcome;
}

bool same(motion::Step const& a, motion::Step const& b) {
  auto const* m = motion::motion_of(a);
  auto const* n = motion::motion_of(b);
  if (a.event.index() != b.event.index() || !(a.place == b.place) || !(a.modes == b.modes) ||
      a.touched != b.touched || a.other_feed != b.other_feed || a.generated != b.generated ||
      a.first_in_block != b.first_in_block || a.last_in_block != b.last_in_block)
    return false;
  if (m == nullptr) return true;
  bool const ends = motion::is_known(m->from) && motion::is_known(m->to);
  return ends ? *m == *n : m->path == n->path;
}

} // namespace

TEST_CASE("the stages make of stretches what they make of their steps", "[transform]") {
  std::size_t in_stretches = 0;
  CHECK(property::holds_often(150, [&] {
    std::string const program = any_program();
    motion::Machine machine;
    machine.max_feed = {3000, 3000, draw(0, 2) == 0 ? 0.0 : static_cast<double>(draw(100, 1500))};
    machine.max_plunge = draw(0, 2) == 0 ? 0 : draw(100, 800);
    machine.acceleration = {400, 400, 200};
    machine.spindle_max = draw(0, 3) == 0 ? 8000 : 0;
    machine.spindle_start_seconds = 2;
    machine.spindle_dwell = draw(0, 2) == 0;
    motion::Survey survey;
    {
      text::Findings findings;
      text::Input input = text::Input::from_memory(program);
      interpret::ProgramReader reader(input, {}, findings);
      motion::Step step;
      while (reader.next(step))
        survey.add(step);
    }
    Outcome const steps = run_stages(program, survey, machine, false);
    Outcome const stretches = run_stages(program, survey, machine, true);
    in_stretches += stretches.in_stretches;
    RC_ASSERT(stretches.told == steps.told);
    RC_ASSERT(stretches.steps.size() == steps.steps.size());
    for (std::size_t i = 0; i < steps.steps.size(); ++i)
      if (!same(steps.steps[i], stretches.steps[i]))
        RC_FAIL(fmt::format("another step for line {}", steps.steps[i].place.line));
  }));
  CHECK(in_stretches > 20'000);
}
