#pragma once

#include "motion/arc.hpp"
#include "transform/transform.hpp"

#include <cmath>
#include <cstddef>
#include <initializer_list>
#include <memory>
#include <string>
#include <utility>
#include <vector>

/// Short lists of steps as streams, and what stages make of them.
namespace restep::transform::testing {

using motion::Step;
using motion::Vec3;

inline constexpr double nowhere = motion::unknown;

/// A stream from a list.
class ListSource final : public motion::StepSource {
public:
  explicit ListSource(std::vector<Step> steps)
      : steps_(std::move(steps)) {}
  bool next(Step& step) override {
    if (at_ == steps_.size()) return false;
    step = steps_[at_++];
    return true;
  }

private:
  std::vector<Step> steps_;
  std::size_t at_ = 0;
};

/// Builds a program block by block and keeps track of the place, as the reader does.
class Program {
public:
  Vec3 at = motion::unknown_position;
  motion::Modes modes;

  /// One block of events.
  Program& block(std::initializer_list<motion::Event> events) {
    ++line_;
    std::size_t i = 0;
    for (motion::Event const& event : events) {
      Step step;
      step.event = event;
      step.place.line = line_;
      step.modes = modes;
      step.first_in_block = i == 0;
      step.last_in_block = ++i == events.size();
      steps.push_back(step);
    }
    return *this;
  }
  Program& operator()(motion::Event const& event) { return block({event}); }

  /// Coordinates that are `nowhere` stay.
  motion::Motion move(motion::PathKind path, Vec3 to, double feed) {
    motion::Motion motion;
    motion.path = path;
    motion.from = at;
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(to[axis])) at[axis] = to[axis];
    motion.to = at;
    motion.feed = feed;
    return motion;
  }
  Program& rapid(double x, double y, double z) {
    return (*this)(move(motion::PathKind::rapid, {x, y, z}, 0));
  }
  Program& rapid_z(double z) { return rapid(nowhere, nowhere, z); }
  Program& feed(double x, double y, double z, double f) {
    return (*this)(move(motion::PathKind::line, {x, y, z}, f));
  }
  Program& arc(motion::PathKind path, motion::Plane plane, Vec3 to, Vec3 centre, double f) {
    motion::Motion motion = move(path, to, f);
    motion.plane = plane;
    motion.centre = centre;
    return (*this)(motion);
  }

  std::vector<Step> steps;

private:
  std::uint32_t line_ = 0;
};

/// A context with everything it refers to.
struct Bench {
  motion::Machine machine;
  cutter::ToolTable tools;
  motion::Survey survey;
  text::Findings findings;
  motion::Edits edits;
  Context context{.machine = machine, .tools = tools, .survey = survey, .findings = findings, .edits = edits};

  bool found(std::string_view code) const {
    for (text::Finding const& finding : findings.all())
      if (finding.code == code) return true;
    return false;
  }
};

using Maker = std::unique_ptr<motion::StepSource> (*)(motion::StepSource&, Context&);

inline std::vector<Step> run(Maker make, std::vector<Step> const& steps, Context& context) {
  ListSource source(steps);
  std::unique_ptr<motion::StepSource> const stage = make(source, context);
  std::vector<Step> out;
  Step step;
  while (stage->next(step))
    out.push_back(step);
  return out;
}

inline bool same(double a, double b) {
  return a == b || (!motion::is_known(a) && !motion::is_known(b));
}
inline bool same(Vec3 a, Vec3 b) {
  return same(a.x, b.x) && same(a.y, b.y) && same(a.z, b.z);
}

/// Equality of what the machine does, unknown coordinates counting as equal.
inline bool same_event(motion::Event const& a, motion::Event const& b) {
  if (a.index() != b.index()) return false;
  if (auto const* m = std::get_if<motion::Motion>(&a)) {
    auto const& n = std::get<motion::Motion>(b);
    return m->path == n.path && same(m->from, n.from) && same(m->to, n.to) && m->feed == n.feed &&
           same(m->centre, n.centre);
  }
  if (auto const* c = std::get_if<motion::Cycle>(&a)) {
    auto const& d = std::get<motion::Cycle>(b);
    return same(c->from, d.from) && same(c->hole, d.hole) && same(c->clear, d.clear) && c->feed == d.feed;
  }
  if (auto const* h = std::get_if<motion::Home>(&a)) {
    auto const& i = std::get<motion::Home>(b);
    return h->axes == i.axes && same(h->via, i.via) && same(h->from, i.from);
  }
  if (auto const* g = std::get_if<motion::MachineMove>(&a)) {
    auto const& i = std::get<motion::MachineMove>(b);
    return same(g->to, i.to) && same(g->from, i.from);
  }
  if (auto const* p = std::get_if<motion::Probe>(&a)) {
    auto const& q = std::get<motion::Probe>(b);
    return same(p->from, q.from) && same(p->to, q.to) && p->feed == q.feed;
  }
  if (auto const* o = std::get_if<motion::OffsetChange>(&a))
    return same(o->values, std::get<motion::OffsetChange>(b).values);
  return a == b;
}

inline bool same_stream(std::vector<Step> const& a, std::vector<Step> const& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (!same_event(a[i].event, b[i].event)) return false;
  return true;
}

/// The stream in short words, for a test to compare: "M5 M9 Z5 X1Y2Z5 ..."; unknown coordinates are "?".
inline std::string words(std::vector<Step> const& steps) {
  auto const number = [](double v) {
    if (!motion::is_known(v)) return std::string("?");
    std::string text = std::to_string(std::round(v * 1000) / 1000);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
  };
  auto const where = [&](Vec3 p) { return "X" + number(p.x) + "Y" + number(p.y) + "Z" + number(p.z); };
  std::string text;
  for (Step const& step : steps) {
    if (!text.empty()) text += " | ";
    motion::Event const& event = step.event;
    if (auto const* m = std::get_if<motion::Motion>(&event))
      text += (is_cutting(*m) ? is_arc(*m) ? "arc " : "G1 " : "G0 ") + where(m->to) +
              (is_cutting(*m) ? "F" + number(m->feed) : "");
    else if (auto const* c = std::get_if<motion::Cycle>(&event))
      text += "cycle " + where(c->hole);
    else if (auto const* h = std::get_if<motion::Home>(&event))
      text += "G28 " + where(h->via);
    else if (auto const* g = std::get_if<motion::MachineMove>(&event))
      text += "G53 " + where(g->to);
    else if (auto const* s = std::get_if<motion::SpindleSpeed>(&event))
      text += "S" + number(s->rpm);
    else if (auto const* t = std::get_if<motion::SpindleTurn>(&event))
      text += t->rotation == motion::Rotation::stop        ? "M5"
              : t->rotation == motion::Rotation::clockwise ? "M3"
                                                           : "M4";
    else if (auto const* l = std::get_if<motion::Coolant>(&event))
      text += l->kind == motion::CoolantKind::off ? "M9" : l->kind == motion::CoolantKind::mist ? "M7" : "M8";
    else if (auto const* select = std::get_if<motion::ToolSelect>(&event))
      text += "T" + std::to_string(select->tool);
    else if (std::holds_alternative<motion::ToolChange>(event))
      text += "M6";
    else if (auto const* stop = std::get_if<motion::Stop>(&event))
      text += stop->kind == motion::StopKind::program      ? "M0"
              : stop->kind == motion::StopKind::optional   ? "M1"
              : stop->kind == motion::StopKind::end_rewind ? "M30"
              : stop->kind == motion::StopKind::end        ? "M2"
                                                           : "M60";
    else if (auto const* comment = std::get_if<motion::Comment>(&event))
      text += "(" + std::string(comment->text) + ")";
    else if (auto const* offset = std::get_if<motion::LengthOffset>(&event))
      text += offset->active ? "G43" : "G49";
    else if (auto const* probe = std::get_if<motion::Probe>(&event))
      text += "G38.2 " + where(probe->to) + "F" + number(probe->feed);
    else if (auto const* shift = std::get_if<motion::OffsetChange>(&event))
      text += "G92 " + where(shift->values);
    else if (auto const* origin = std::get_if<motion::SetOrigin>(&event))
      text += (origin->here ? "L20 " : "L2 ") + where(origin->origin);
    else if (std::holds_alternative<motion::WorkOffset>(event))
      text += "G54";
    else if (std::holds_alternative<motion::Layout>(event))
      text += "layout";
    else
      text += "?";
  }
  return text;
}

/// Each motion starts where the one before it ended, as far as both are known; returns the index of the first
/// that does not, or the size.
inline std::size_t first_gap(std::vector<Step> const& steps) {
  Vec3 at = motion::unknown_position;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    motion::Event const& event = steps[i].event;
    if (auto const* m = std::get_if<motion::Motion>(&event)) {
      if (!same(m->from, at)) return i;
      at = m->to;
    } else if (auto const* c = std::get_if<motion::Cycle>(&event)) {
      if (!same(c->from, at)) return i;
      at = {c->hole.x, c->hole.y, c->clear};
    } else if (auto const* h = std::get_if<motion::Home>(&event)) {
      for (int axis = 0; axis < 3; ++axis)
        if (h->axes >> axis & 1) at[axis] = motion::unknown;
    } else if (auto const* g = std::get_if<motion::MachineMove>(&event)) {
      for (int axis = 0; axis < 3; ++axis)
        if (motion::is_known(g->to[axis])) at[axis] = motion::unknown;
    } else if (std::holds_alternative<motion::ToolChange>(event) ||
               std::holds_alternative<motion::LengthOffset>(event)) {
      at.z = motion::unknown; // another length
    }
  }
  return steps.size();
}

} // namespace restep::transform::testing
