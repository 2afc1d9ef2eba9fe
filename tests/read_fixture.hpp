#pragma once

#include "interpret/reader.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

/// The workshop's programs, for the tests of every room that reads them.
namespace restep::testing {

inline std::string fixture_path(std::string const& name, std::string const& file) {
  return std::string(RESTEP_SOURCE_DIR) + "/fixtures/" + name + "/" + file;
}

/// All steps of a program without errors. Views in them live as long as the input.
inline std::vector<motion::Step> read_program(text::Input& input) {
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  std::vector<motion::Step> steps;
  for (motion::Step step; reader.next(step);)
    steps.push_back(step);
  if (findings.has_errors()) throw std::runtime_error(findings.all().front().message);
  return steps;
}

/// A program with every place moved; where that mirrors it, arcs turn the other way.
template <class Move>
std::vector<motion::Step> moved(std::vector<motion::Step> steps, bool mirrors, Move const& move) {
  for (motion::Step& step : steps) {
    motion::Motion* m = motion::motion_of(step);
    if (m == nullptr) continue;
    for (motion::Vec3* p : {&m->from, &m->to, &m->centre})
      *p = move(*p);
    if (mirrors && motion::is_arc(*m))
      m->path = m->path == motion::PathKind::arc_cw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
  }
  return steps;
}

/// Its mirror image: X the other way.
inline std::vector<motion::Step> mirrored(std::vector<motion::Step> steps) {
  return moved(std::move(steps), true, [](motion::Vec3 p) {
    p.x = -p.x;
    return p;
  });
}

} // namespace restep::testing
