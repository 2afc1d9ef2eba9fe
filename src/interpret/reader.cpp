#include "interpret/reader.hpp"

#include "grammar/parse.hpp"
#include "interpret/reader_implementation.hpp"
#include "interpret/strict.hpp"

#include <fmt/format.h>

#include <utility>

namespace restep::interpret {

void ProgramReader::Implementation::put_layout(LayoutKind kind) {
  queue.push(motion::Layout{kind, 0});
}

void ProgramReader::Implementation::refuse(grammar::ParseError const& error) {
  if (error.code == lost_parameter) return;
  findings.add(text::Severity::error, error.code, error.message, error.hint, line.place, line.text,
               error.span);
}

/// A block of which nothing can be said.
void ProgramReader::Implementation::refuse_block(grammar::ParseError const& error) {
  refuse(error);
  lose_settings(line.text, parameters);
  queue.drop();
  executor.lose_everything();
  layout.meet_block();
  mark_refused();
  put_layout(LayoutKind::modes);
}

/// A loop that leads back to the line is not to say the same again.
void ProgramReader::Implementation::mark_refused() {
  if (flow)
    flow->mark_refused(line.place.line);
  else
    refused_lines.push_back(line.place.line);
}

bool ProgramReader::Implementation::fetch() {
  return flow ? flow->next(line) : lines.next(line);
}

/// Reads lines until one gives steps: in a program with calls some do not.
bool ProgramReader::Implementation::read_line() {
  for (;;) {
    if (!fetch()) {
      if (finished || !(flow || input.closed())) return false;
      if (flow && flow->in_call()) {
        queue.begin(line.place, executor.control().modes);
        flow->refuse_open_call(line);
        put_layout(LayoutKind::modes);
        return true;
      }
      finished = true;
      if (input.error().what.empty()) layout.finish(line);
      return false;
    }
    queue.begin(line.place, executor.control().modes);
    layout.check_length(line);
    bool const enters = known != nullptr && enter_passage();
    if (layout.after_end()) {
      put_layout(layout.kind_after_end(line));
      if (in_passage != 0) queue.keep(in_passage);
      return true;
    }
    if (flow && flow->is_refused(line.place.line)) continue;
    read_block();
    forget_written();
    watch_coordinates();
    watch_settings();
    if (!has_steps_to_give()) {
      if (!enters) continue;
      put_layout(LayoutKind::modes);
    }
    if (in_passage != 0) queue.keep(in_passage);
    return true;
  }
}

/// Which passage the line in work belongs to. True when a kept one begins with it.
bool ProgramReader::Implementation::enter_passage() {
  std::uint32_t const main_line = main_place().line;
  while (at_passage < known->size() && (*known)[at_passage].last.line < main_line)
    ++at_passage;
  std::uint32_t const before = std::exchange(in_passage, 0);
  if (at_passage == known->size()) return false;
  Passage const& passage = (*known)[at_passage];
  if (!passage.keep || passage.first.line > main_line) return false;
  in_passage = static_cast<std::uint32_t>(at_passage) + 1;
  return in_passage != before;
}

void ProgramReader::Implementation::watch_coordinates() {
  if (executor.displaced()) {
    displaced_to = main_place();
    if (displaced_from) return;
    displaced_from = displaced_to;
    settings_before = parameters.lasting_settings();
  } else if (displaced_from) {
    passages.join(*displaced_from, displaced_to, false);
    if (parameters.lasting_settings() != settings_before) passages.note_setting(displaced_to.line);
    displaced_from.reset();
  }
}

void ProgramReader::Implementation::watch_settings() {
  if (!flow || parameters.lasting_settings() == settings_seen) return;
  settings_seen = parameters.lasting_settings();
  passages.note_setting(main_place().line);
}

/// Prepares the steps of the block in work. False when it has none that matter.
bool ProgramReader::Implementation::has_steps_to_give() {
  if (queue.size() == 0) return false;
  if (executor.displaced()) queue.touch();
  if (!flow) return true;
  if (flow->displaced()) {
    queue.drop_layout();
    if (queue.size() == 0) return false;
    queue.touch();
  }
  keep_texts();
  return true;
}

/// Lines that are read again lie in a buffer; their texts must outlive it.
void ProgramReader::Implementation::keep_texts() {
  queue.for_each([this](motion::Step& step) {
    if (auto* const comment = std::get_if<motion::Comment>(&step.event))
      comment->text = *kept_texts.emplace(comment->text).first;
    else if (auto* const carried = std::get_if<motion::Carried>(&step.event))
      carried->text = *kept_texts.emplace(carried->text).first;
  });
}

void ProgramReader::Implementation::read_block() {
  if (grammar::parse_plain(line.text, block)) {
    static Evaluation const nothing_else;
    run_words(nothing_else);
    return;
  }
  block.clear();
  read_with_grammar();
}

/// What the control wrote into its parameters while the block ran.
void ProgramReader::Implementation::forget_written() {
  switch (executor.take_written()) {
  case Executor::Written::none: break;
  case Executor::Written::probe_results: parameters.forget_probe_results(); break;
  case Executor::Written::all: parameters.forget_all(); break;
  }
}

void ProgramReader::Implementation::read_with_grammar() {
  auto const tree = grammar::parse_block(line.text);
  if (!tree) {
    refuse_block(tree.error());
    return;
  }
  if (auto const error = rules.strict_layout ? beyond_standard(*tree, line.text) : std::nullopt) {
    refuse_block(*error);
    return;
  }
  bool const skipped = tree->deleted && rules.block_delete;
  auto evaluated = evaluate(*tree, line.text, parameters, block, Unknowns::allowed);
  if (!evaluated) {
    if (skipped)
      put_layout(LayoutKind::deleted);
    else
      refuse_block(evaluated.error());
    return;
  }
  if (!skipped) {
    if (auto const error = own_by_control(*evaluated)) {
      refuse_block(*error);
      return;
    }
    for (text::Span const span : evaluated->split_numbers)
      findings.add(text::Severity::warning, "number-with-blanks",
                   fmt::format("blanks stand between the digits of '{}': it is read as one number",
                               line.text.substr(span.begin, span.end - span.begin)),
                   "check whether a letter was lost; write the number without blanks", line.place, line.text,
                   span);
    if (evaluated->flow) {
      if (!run_flow(*tree)) put_layout(LayoutKind::modes);
      return;
    }
  }
  if (evaluated->unknown && evaluated->unknown->code == lost_parameter && !evaluated->unknown_words.empty() &&
      !skipped) {
    refuse_block(*evaluated->unknown);
    return;
  }
  if (run_words(*evaluated))
    interpret::apply(evaluated->settings, parameters);
  else if (!skipped)
    lose_settings(line.text, parameters);
}

/// A program that runs on into the next one of its file.
bool ProgramReader::Implementation::begins_next_program() {
  if (block.size == 0 || block.words[0].letter != 'O') {
    words_since = words_since || block.size != 0;
    return false;
  }
  if (flow && flow->in_call()) {
    // The head of the subprogram, or of the one behind it.
    if (flow->at_head()) {
      for (std::size_t i = 1; i < block.size; ++i)
        block.words[i - 1] = block.words[i];
      --block.size;
      return false;
    }
    flow->refuse_open_call(line);
    put_layout(LayoutKind::modes);
    return true;
  }
  bool const runs_on = numbered && words_since;
  numbered = true;
  words_since = block.size > 1;
  if (!runs_on) return false;
  auto const span = block.words[0].span;
  findings.add(text::Severity::error, "program-runs-on",
               "the program before has no end, and another one begins here",
               "end it with M30; subprograms stand behind the main program", line.place, line.text, span);
  put_layout(LayoutKind::modes);
  return true;
}

bool ProgramReader::Implementation::run_words(Evaluation const& evaluation) {
  switch (block.kind) {
  case grammar::LineKind::blank:
    if (!(flow && flow->in_call())) put_layout(LayoutKind::blank);
    return true;
  case grammar::LineKind::percent:
    if (flow && flow->in_call()) {
      flow->refuse_open_call(line);
      put_layout(LayoutKind::modes);
      return false;
    }
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
    queue.begin(line.place, executor.control().modes, true, block.delete_switch);
  }
  if (begins_next_program()) return false;
  bool const unknown = !evaluation.unknown_words.empty();
  bool const done = unknown ? executor.carry(block, line, evaluation.unknown_words, *evaluation.unknown)
                            : executor.run(block, line);
  if (!done) {
    mark_refused();
    put_layout(LayoutKind::modes);
    return false;
  }
  if (unknown) say_carried(evaluation.unknown->span);
  if (executor.request().kind != CallRequest::Kind::none) {
    if (!run_request()) mark_refused();
    if (queue.size() == 0) put_layout(LayoutKind::modes);
  }
  if (executor.ended()) {
    layout.meet_end();
    if (flow) {
      if (flow->in_call()) queue.touch();
      flow->end_program();
    }
  }
  return true;
}

ProgramReader::ProgramReader(text::Input& input, ReadRules const& rules, text::Findings& findings,
                             Passages const* passages)
    : implementation_(std::make_unique<Implementation>(input, rules, findings, passages)) {}

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
  return implementation_->executor.placed_position();
}

motion::Modes ProgramReader::modes() const {
  return implementation_->executor.control().modes;
}

std::uint8_t ProgramReader::stated() const {
  return implementation_->executor.control().stated;
}

Passages ProgramReader::passages() const {
  PassageFinder found = implementation_->passages;
  if (implementation_->displaced_from)
    found.join(*implementation_->displaced_from, implementation_->displaced_to, false);
  return found.found();
}

} // namespace restep::interpret
