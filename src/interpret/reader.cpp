#include "interpret/reader.hpp"

#include "grammar/parse.hpp"
#include "interpret/evaluate.hpp"
#include "interpret/execute.hpp"
#include "interpret/layout.hpp"
#include "interpret/parameters.hpp"
#include "interpret/step_queue.hpp"

#include <fmt/format.h>

namespace restep::interpret {

using motion::LayoutKind;

struct ProgramReader::Implementation {
  Implementation(text::Input& from, ReadRules const& read_rules, text::Findings& into)
      : input(from)
      , rules(read_rules)
      , findings(into)
      , lines(from)
      , executor(rules, findings, queue)
      , layout(rules, findings) {}

  text::Input& input;
  ReadRules const rules;
  text::Findings& findings;
  text::LineReader lines;
  StepQueue queue;
  Executor executor;
  ProgramLayout layout;
  Parameters parameters;
  grammar::WordBlock block;
  text::Line line;
  bool finished = false;

  bool read_line();
  void read_block();
  bool run_block(); ///< true when the block was executed
  bool read_with_grammar(Evaluation& evaluation);
  bool settings_allowed(Evaluation const& evaluation);
  void put_layout(LayoutKind kind);
  void refuse(grammar::ParseError const& error);
};

void ProgramReader::Implementation::put_layout(LayoutKind kind) {
  queue.push(motion::Layout{kind, 0});
}

void ProgramReader::Implementation::refuse(grammar::ParseError const& error) {
  findings.add(text::Severity::error, error.code, error.message, error.hint, line.place, line.text,
               error.span);
}

bool ProgramReader::Implementation::read_line() {
  if (!lines.next(line)) {
    if (!finished && input.closed()) {
      finished = true;
      if (input.error().what.empty()) layout.finish(line);
    }
    return false;
  }
  queue.begin(line.place, executor.control().modes, false);
  layout.check_length(line);
  if (layout.after_end()) {
    put_layout(layout.kind_after_end(line));
    return true;
  }
  read_block();
  return true;
}

bool ProgramReader::Implementation::read_with_grammar(Evaluation& evaluation) {
  auto tree = grammar::parse_block(line.text);
  if (tree) {
    auto evaluated = evaluate(*tree, line.text, parameters, block);
    if (evaluated) {
      evaluation = *std::move(evaluated);
      if (evaluation.flow.empty()) return settings_allowed(evaluation);
      auto const& flow = evaluation.flow.front();
      refuse({flow.span, "flow-not-understood",
              fmt::format("{} is not understood yet: which blocks run, and how often, depends on it",
                          flow.keyword),
              "post the program with the moves written out"});
      return false;
    }
    refuse(evaluated.error());
    return false;
  }
  refuse(tree.error());
  return false;
}

/// The numbers of stored positions and origins are the control's own: setting one would move the work.
bool ProgramReader::Implementation::settings_allowed(Evaluation const& evaluation) {
  constexpr int first_stored = 5161;
  constexpr int last_stored = 5390;
  for (auto const& setting : evaluation.settings) {
    if (setting.index < first_stored || setting.index > last_stored) continue;
    refuse({setting.span, "origin-by-parameter",
            fmt::format("setting #{} would change a stored position or origin of the control", setting.index),
            "use G10 L2 for a work offset"});
    return false;
  }
  return true;
}

void ProgramReader::Implementation::read_block() {
  if (grammar::parse_plain(line.text, block)) {
    run_block();
    return;
  }
  Evaluation evaluation;
  block.clear();
  if (!read_with_grammar(evaluation)) {
    executor.lose_everything();
    layout.meet_block();
    put_layout(LayoutKind::modes);
    return;
  }
  if (run_block()) interpret::apply(evaluation.settings, parameters);
}

bool ProgramReader::Implementation::run_block() {
  switch (block.kind) {
  case grammar::LineKind::blank: put_layout(LayoutKind::blank); return true;
  case grammar::LineKind::percent:
    put_layout(LayoutKind::percent);
    for (auto const& comment : block.comments)
      queue.push(motion::Comment{comment.text, false});
    layout.meet_percent(line);
    return true;
  case grammar::LineKind::block: break;
  }
  layout.check_block(line, block);
  if (block.deleted) {
    if (rules.block_delete) {
      put_layout(LayoutKind::deleted);
      return false;
    }
    queue.begin(line.place, executor.control().modes, true);
  }
  if (!executor.run(block, line)) {
    put_layout(LayoutKind::modes);
    return false;
  }
  if (executor.ended()) layout.meet_end();
  return true;
}

ProgramReader::ProgramReader(text::Input& input, ReadRules const& rules, text::Findings& findings)
    : implementation_(std::make_unique<Implementation>(input, rules, findings)) {}

ProgramReader::~ProgramReader() = default;

bool ProgramReader::next(motion::Step& step) {
  auto& self = *implementation_;
  if (self.queue.pop(step)) return true;
  self.queue.aim(step);
  if (!self.read_line()) return false;
  self.queue.finish_front();
  return true;
}

motion::Vec3 ProgramReader::position() const {
  return implementation_->executor.control().position.mm();
}

motion::Modes ProgramReader::modes() const {
  return implementation_->executor.control().modes;
}

} // namespace restep::interpret
