#pragma once

#include "interpret/reader.hpp"
#include "motion/kept_text.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <algorithm>
#include <deque>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

/// The workshop's programs, for the tests of every room that reads them.
namespace restep::testing {

inline std::string fixture_path(std::string const& name, std::string const& file) {
  return std::string(RESTEP_SOURCE_DIR) + "/fixtures/" + name + "/" + file;
}

/// All steps of a program without errors. The texts that they view are kept to the end of the process.
inline std::vector<motion::Step> read_program(text::Input& input) {
  static std::deque<std::string> texts;
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  std::vector<motion::Step> steps;
  for (motion::Step step; reader.next(step);) {
    motion::keep_text(step, texts);
    steps.push_back(step);
  }
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

/// The program's motions from the last to the first, each the other way round; what is no motion stays in
/// front.
inline std::vector<motion::Step> backwards(std::vector<motion::Step> const& steps) {
  std::vector<motion::Step> front, motions;
  for (motion::Step const& s : steps) {
    motion::Motion const* m = motion::motion_of(s);
    bool const known = m != nullptr && motion::is_known(m->from) && motion::is_known(m->to);
    if (!known && !motions.empty()) break; // the end of the pass
    (known ? motions : front).push_back(s);
  }
  std::reverse(motions.begin(), motions.end());
  for (motion::Step& s : motions) {
    motion::Motion& m = *motion::motion_of(s);
    std::swap(m.from, m.to);
    if (motion::is_arc(m))
      m.path = m.path == motion::PathKind::arc_cw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw;
    if (m.plane == motion::Plane::xy) m.centre.z = m.from.z;
  }
  front.insert(front.end(), motions.begin(), motions.end());
  std::uint32_t line = 0;
  for (motion::Step& s : front)
    s.place.line = ++line;
  return front;
}

} // namespace restep::testing
