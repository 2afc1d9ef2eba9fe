#pragma once

#include "interpret/reader.hpp"

#include <fmt/format.h>

#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace restep::test {

/// Layout by the letter of the standard.
inline interpret::ReadRules strict() {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  return rules;
}

/// Everything one reading of a program gives. The steps' views point into `input`.
struct Reading {
  text::Input input;
  text::Findings findings;
  std::vector<motion::Step> steps;
  motion::Vec3 position;
  motion::Modes modes;
  std::unique_ptr<interpret::ProgramReader> reader; ///< owns the texts that were read again

  template <class E>
  std::vector<E> all() const {
    std::vector<E> events;
    for (auto const& step : steps)
      if (auto const* event = std::get_if<E>(&step.event)) events.push_back(*event);
    return events;
  }
  std::vector<motion::Motion> motions() const { return all<motion::Motion>(); }

  /// The last step's event.
  template <class E>
  E last() const {
    return std::get<E>(steps.back().event);
  }

  /// "line:column+length code: message | hint" of each error.
  std::vector<std::string> errors() const {
    std::vector<std::string> list;
    for (auto const& finding : findings.all())
      if (finding.severity == text::Severity::error)
        list.push_back(fmt::format("{}:{}+{} {}: {} | {}", finding.line, finding.column, finding.length,
                                   finding.code, finding.message, finding.hint));
    return list;
  }
  /// The only error of the program, or what stands there instead.
  std::string error() const {
    auto const list = errors();
    if (list.size() == 1) return list.front();
    return fmt::format("{} errors, first: {}", list.size(), list.empty() ? "none" : list.front());
  }
  /// The codes of all errors, in order.
  std::vector<std::string> error_codes() const {
    std::vector<std::string> list;
    for (auto const& finding : findings.all())
      if (finding.severity == text::Severity::error) list.push_back(finding.code);
    return list;
  }
};

inline Reading read(std::string_view program, interpret::ReadRules const& rules = {}) {
  Reading reading{text::Input::from_memory(program), text::Findings(1000), {}, {}, {}, {}};
  reading.reader = std::make_unique<interpret::ProgramReader>(reading.input, rules, reading.findings);
  auto& reader = *reading.reader;
  motion::Step step;
  while (reader.next(step))
    reading.steps.push_back(step);
  reading.position = reader.position();
  reading.modes = reader.modes();
  return reading;
}

/// A short name for each kind of event, to compare orders.
inline std::string name_of(motion::Event const& event) {
  static constexpr char const* names[] = {
      "motion",     "cycle",       "home",          "machine move", "probe",        "dwell",
      "spindle",    "speed",       "tool",          "tool change",  "coolant",      "stop",
      "override",   "work offset", "length offset", "path control", "compensation", "offset change",
      "set origin", "comment",     "carried",       "layout"};
  return names[event.index()];
}

inline std::string order_of(std::vector<motion::Step> const& steps, std::uint32_t line) {
  std::string order;
  for (auto const& step : steps)
    if (step.place.line == line) order += (order.empty() ? "" : ", ") + name_of(step.event);
  return order;
}

/// The moves of a program in the notation of the reference: "T (4,5,3); F (4,5,2.8)".
inline std::string moves_of(std::vector<motion::Event> const& events) {
  std::string moves;
  for (auto const& event : events)
    if (auto const* move = std::get_if<motion::Motion>(&event))
      moves += fmt::format("{}{} ({:.6g},{:.6g},{:.6g})", moves.empty() ? "" : "; ",
                           motion::is_cutting(*move) ? 'F' : 'T', move->to.x, move->to.y, move->to.z);
  return moves;
}

} // namespace restep::test
