#include "transform/run_stage.hpp"

#include "motion/arc.hpp"
#include "transform/record.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

using motion::Motion;
using motion::Step;
using motion::Vec3;

namespace {

/// A line that nothing but its course ties to its block. Inverse time ties it: its F belongs to its length.
bool is_plain_line(Step const& step) {
  Motion const* m = motion::motion_of(step);
  return m != nullptr && m->path == motion::PathKind::line && step.first_in_block && step.last_in_block &&
         !step.optional && !m->compensated && !m->rotary && m->feed_mode != motion::FeedMode::inverse_time &&
         motion::is_known(m->from) && motion::is_known(m->to) && m->from != m->to;
}

int sign(double value) {
  return value > 0 ? 1 : value < 0 ? -1 : 0;
}

/// -1, 0 or 1: the line falls, stays at its height or rises along an axis.
int rise(Motion const& m, int axis) {
  return sign(m.to[axis] - m.from[axis]);
}

} // namespace

std::vector<Motion> motions_of(std::span<Step const> run) {
  std::vector<Motion> motions;
  motions.reserve(run.size());
  for (Step const& step : run)
    motions.push_back(*motion::motion_of(step));
  return motions;
}

double angle_between(Vec3 a, Vec3 b) {
  Vec3 const across{a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
  return std::atan2(geometry::length(across), dot(a, b));
}

std::vector<std::size_t> stretch_ends(std::span<Motion const> lines, double corner) {
  std::vector<std::size_t> ends(lines.size(), lines.size());
  double const least = std::cos(corner);
  auto const way = [&](std::size_t line) { return lines[line].to - lines[line].from; };
  for (std::size_t i = lines.size(); i-- > 1;) {
    Vec3 const in = way(i - 1), out = way(i);
    bool const turns = dot(in, out) < least * std::sqrt(dot(in, in) * dot(out, out));
    ends[i - 1] = turns ? i : ends[i];
  }
  return ends;
}

bool RunStage::next(Step& step) {
  while (taken_ == out_.size()) {
    out_.clear();
    taken_ = 0;
    if (ended_) return false;
    pull();
  }
  step = out_[taken_++];
  return true;
}

void RunStage::pull() {
  Step step;
  if (!upstream_.next(step)) {
    ended_ = true;
    flush(nullptr);
    summarize();
    return;
  }
  bool const line = is_plain_line(step);
  if (!run_.empty() && (!line || run_.size() == longest_run || !continues(step))) flush(&step);
  if (line)
    run_.push_back(step);
  else
    emit(step);
}

bool RunStage::continues(Step const& step) const {
  Motion const& last = *motion::motion_of(run_.back());
  Motion const& m = *motion::motion_of(step);
  int const normal = motion::axes_of(step.modes.plane).normal;
  return m.from == last.to && m.feed == last.feed && m.wall == last.wall && m.feed_mode == last.feed_mode &&
         step.modes.plane == run_.back().modes.plane && rise(m, normal) == rise(last, normal) &&
         (rise(m, 2) == 0) == (rise(last, 2) == 0);
}

void RunStage::flush(Step const* following) {
  if (run_.empty()) return;
  Ends ends{direction_, std::nullopt};
  Motion const* next = following == nullptr ? nullptr : motion::motion_of(*following);
  if (next != nullptr && motion::is_cutting(*next) && next->from == motion::motion_of(run_.back())->to &&
      motion::is_known(next->to))
    ends.after = motion::direction_at(*next, 0);
  reshape(run_, ends);
  run_.clear();
}

void RunStage::emit(Step const& step) {
  out_.push_back(step);
  Motion const* m = motion::motion_of(step);
  if (m == nullptr) {
    // Remarks and the like do not move the tool; whatever may (a cycle, a tool change) ends the path.
    if (!std::holds_alternative<motion::Comment>(step.event) &&
        !std::holds_alternative<motion::Layout>(step.event))
      direction_.reset();
    return;
  }
  direction_.reset();
  if (motion::is_cutting(*m) && motion::is_known(m->from) && motion::is_known(m->to))
    direction_ = motion::direction_at(*m, 1);
}

void RunStage::keep(std::span<Step const> steps) {
  for (Step const& step : steps)
    emit(step);
}

void RunStage::replace(std::span<Step const> replaced, Motion const& motion, double apart,
                       std::string const& called) {
  replaced_ += replaced.size();
  ++made_count_;
  apart_ = std::max(apart_, apart);
  record(context_, replaced.front(), name_, [&] {
    return fmt::format("{} lines, the last in line {}, become one {}, at most {} from them", replaced.size(),
                       replaced.back().place.line, called, length_words(apart, replaced.front().modes.units));
  });
  Step step = replaced.front();
  step.event = motion;
  step.touched = true;
  emit(step);
}

void RunStage::summarize() {
  if (made_count_ == 0) return;
  context_.findings.add(text::Severity::note, std::string(name_),
                        fmt::format("{} blocks of lines became {} of {}, at most {:.3f} um from them",
                                    replaced_, made_count_, made_, 1000 * apart_),
                        {}, {});
}

} // namespace restep::transform
