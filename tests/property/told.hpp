#pragma once

#include "interpret/reader.hpp"
#include "motion/cycle.hpp"
#include "reference_interpreter.hpp"

#include <fmt/format.h>

#include <rapidcheck.h>
#include <type_traits>

namespace restep::property {

inline void append(std::vector<double>& values, motion::Vec3 const& v) {
  values.insert(values.end(), {v.x, v.y, v.z});
}

/// What the reader says of a program, in the words of the other interpreter.
class Told {
public:
  std::vector<ReferenceAct> acts;

  void operator()(motion::Motion const& move) {
    ReferenceAct act{fmt::format("G{}", static_cast<int>(move.path)), {}};
    append(act.values, move.from);
    append(act.values, move.to);
    act.values.push_back(move.feed);
    if (motion::is_arc(move)) append(act.values, move.centre);
    acts.push_back(std::move(act));
  }
  void operator()(motion::Cycle const& hole) {
    ReferenceAct act{fmt::format("G{}", hole.code / 10), {}};
    append(act.values, hole.from);
    append(act.values, hole.hole);
    for (double const value : {hole.retract, hole.clear, hole.peck, hole.dwell, hole.feed, hole.shift_i,
                               hole.shift_j, hole.shift_k})
      act.values.push_back(value);
    acts.push_back(std::move(act));
    for (auto const& event : motion::expand(hole, rotation_))
      if (auto const* move = std::get_if<motion::Motion>(&event))
        acts.push_back({motion::is_cutting(*move) ? "F" : "T", {move->to.x, move->to.y, move->to.z}});
      else
        tell(event);
  }
  void operator()(motion::Home const& home) {
    ReferenceAct act{home.second ? "G300" : "G280", {}};
    append(act.values, home.from);
    append(act.values, home.via);
    act.values.push_back(home.axes);
    acts.push_back(std::move(act));
  }
  void operator()(motion::MachineMove const& move) {
    ReferenceAct act{move.rapid ? "G53 G0" : "G53 G1", {}};
    append(act.values, move.from);
    append(act.values, move.to);
    act.values.push_back(move.feed);
    acts.push_back(std::move(act));
  }
  void operator()(motion::Dwell const& dwell) { acts.push_back({"G4", {dwell.seconds}}); }
  void operator()(motion::SpindleTurn const& turn) {
    acts.push_back({fmt::format("M{}", 3 + static_cast<int>(turn.rotation)), {}});
  }
  void operator()(motion::SpindleSpeed const& speed) { acts.push_back({"S", {speed.rpm}}); }
  void operator()(motion::ToolSelect const& tool) { acts.push_back({"T", {double(tool.tool)}}); }
  void operator()(motion::ToolChange const& tool) { acts.push_back({"M6", {double(tool.tool)}}); }
  void operator()(motion::Coolant const& coolant) {
    acts.push_back({fmt::format("M{}", 7 + static_cast<int>(coolant.kind)), {}});
  }
  void operator()(motion::Stop const& stop) {
    static constexpr int codes[] = {0, 1, 60, 2, 30};
    acts.push_back({fmt::format("M{}", codes[static_cast<int>(stop.kind)]), {}});
  }
  void operator()(motion::Override const& override_) {
    acts.push_back({override_.enabled ? "M48" : "M49", {}});
  }
  void operator()(motion::WorkOffset const& offset) { acts.push_back({"G54", {double(offset.system)}}); }
  void operator()(motion::LengthOffset const& offset) {
    acts.push_back({offset.active ? "G43" : "G49", {double(offset.index)}});
  }
  void operator()(motion::PathControl const& path) {
    static constexpr int codes[] = {610, 611, 640};
    acts.push_back({fmt::format("G{}", codes[static_cast<int>(path.mode)]), {}});
  }
  void operator()(motion::OffsetChange const& change) {
    ReferenceAct act{fmt::format("G{}", change.code), {}};
    if (change.code == 920 || change.code == 520) append(act.values, change.values);
    acts.push_back(std::move(act));
  }
  void operator()(motion::SetOrigin const& origin) {
    ReferenceAct act{"G100", {double(origin.system)}};
    append(act.values, origin.origin);
    acts.push_back(std::move(act));
  }
  template <typename Other>
  void operator()(Other const&) {
    static_assert(std::is_same_v<Other, motion::Comment> || std::is_same_v<Other, motion::Layout> ||
                  std::is_same_v<Other, motion::Carried> || std::is_same_v<Other, motion::Probe> ||
                  std::is_same_v<Other, motion::Compensation>);
    if constexpr (!std::is_same_v<Other, motion::Comment> && !std::is_same_v<Other, motion::Layout>)
      acts.push_back({"not in the language", {}});
  }

  void tell(motion::Event const& event) {
    std::visit(*this, event);
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) rotation_ = turn->rotation;
    if (std::holds_alternative<motion::ToolChange>(event)) rotation_ = motion::Rotation::stop;
  }

private:
  motion::Rotation rotation_ = motion::Rotation::stop;
};

inline interpret::ReadRules rules_of(ReferenceControl const& control) {
  interpret::ReadRules rules;
  rules.initial_level_sticky = control.keeps_level;
  rules.home_moves_all_axes = control.homes_all;
  rules.block_delete = control.skips;
  return rules;
}

/// What the reader says that a control does for a valid program.
inline std::vector<ReferenceAct> acts_of(std::string const& program, ReferenceControl const& control) {
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  interpret::ProgramReader reader(input, rules_of(control), findings);
  Told told;
  motion::Step step;
  while (reader.next(step))
    told.tell(step.event);
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) RC_FAIL(text::format(finding, "program") + program);
  return told.acts;
}

} // namespace restep::property
