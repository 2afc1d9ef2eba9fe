#pragma once

#include "interpret/evaluate.hpp"
#include "interpret/execute.hpp"
#include "interpret/flow.hpp"
#include "interpret/layout.hpp"
#include "interpret/parameters.hpp"
#include "interpret/reader.hpp"
#include "interpret/step_queue.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

namespace restep::interpret {

/// What a reader keeps between blocks. Lines and words are read in reader.cpp; calls, jumps and loops are
/// followed in reader_flow.cpp.
struct ProgramReader::Implementation {
  using LayoutKind = motion::LayoutKind;

  Implementation(text::Input& from, ReadRules const& read_rules, text::Findings& into,
                 Passages const* from_before)
      : input(from)
      , rules(read_rules)
      , findings(into)
      , lines(from)
      , executor(rules, findings, queue)
      , layout(rules, findings)
      , known(from_before) {}

  text::Input& input;
  ReadRules const rules;
  text::Findings& findings;
  text::LineReader lines;
  StepQueue queue;
  Executor executor;
  ProgramLayout layout;
  Parameters parameters;
  PassageFinder passages;
  std::optional<text::Place> displaced_from; ///< the coordinates are turned, scaled, mirrored or polar
  text::Place displaced_to;
  std::uint64_t settings_seen = 0;   ///< how many parameters had been set at the last look
  std::uint64_t settings_before = 0; ///< and before the coordinates were displaced
  Passages const* known;             ///< the passages of the program; null in its first reading
  std::size_t at_passage = 0;        ///< the first of them that has not been left
  std::uint32_t in_passage = 0;      ///< number of the kept one in work
  std::optional<Flow> flow;          ///< from the first call, jump or loop on
  grammar::WordBlock block;
  text::Line line;
  std::vector<std::uint32_t> refused_lines; ///< before the first call, jump or loop
  bool finished = false;
  bool numbered = false;    ///< a program number was met
  bool words_since = false; ///< and blocks behind it
  bool said_carried = false;
  std::unordered_set<std::string> kept_texts; ///< of comments and carried words that are read again

  grammar::CutLines cut_lines;
  motion::StretchPool stretches;

  // In stretches.cpp.
  bool may_stretch() const;
  bool read_stretch(motion::Stretch& stretch);

  bool fetch();
  text::Place main_place() const { return flow ? flow->main_place() : line.place; }
  bool enter_passage();
  void watch_coordinates();
  void watch_settings();
  bool has_steps_to_give();
  bool read_line();
  void read_block();
  void forget_written();
  void read_with_grammar();
  bool run_words(Evaluation const& evaluation); ///< true when the block was executed
  bool begins_next_program();
  void put_layout(LayoutKind kind);
  void refuse(grammar::ParseError const& error);
  void mark_refused();
  void refuse_block(grammar::ParseError const& error);
  void keep_texts();

  // In reader_flow.cpp.
  bool follow_flow();
  bool run_flow(grammar::ast::Block const& tree);
  bool run_request();
  bool end_by_return(CallRequest const& request);
  bool carry_call(text::Span span, std::string_view what);
  void say_carried(text::Span span);
};

} // namespace restep::interpret
