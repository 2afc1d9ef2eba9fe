#include "grammar/parse.hpp"
#include "interpret/reader_implementation.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace restep::interpret {

/// From here on lines are found by an index. False for an input that cannot be read again.
bool ProgramReader::Implementation::follow_flow() {
  if (flow) return true;
  if (!input.closed()) return false;
  auto index = LineIndex::build(input);
  if (!index) return false;
  flow.emplace(input, parameters, findings, passages, *std::move(index), line.place.line, rules.most_blocks);
  for (std::uint32_t const refused : refused_lines)
    flow->mark_refused(refused);
  return true;
}

void ProgramReader::Implementation::say_carried(text::Span span) {
  if (said_carried) return;
  said_carried = true;
  findings.add(text::Severity::note, "motion-unknown",
               "what this block does is decided on the machine: it is carried unchanged, and the position is "
               "not known until it is stated again",
               "", line.place, line.text, span);
}

/// A block with a flow word; it stands alone but for its number and comments.
bool ProgramReader::Implementation::run_flow(grammar::ast::Block const& tree) {
  namespace ast = grammar::ast;
  ast::Item const* item = nullptr;
  for (ast::Item const& other : tree.items) {
    if (boost::get<ast::Comment>(&other.get()) != nullptr) continue;
    if (item != nullptr) {
      refuse_block(
          {{0, static_cast<std::uint32_t>(line.text.size())},
           "flow-beside-words",
           "a jump, loop, condition or call stands beside other words: controls disagree on which comes "
           "first",
           "put it on a line of its own"});
      return true;
    }
    item = &other;
  }
  if (item == nullptr) return false;
  layout.check_block(line, block);
  layout.meet_block();
  words_since = true;
  if (tree.deleted) {
    refuse_block({{0, 1},
                  "optional-flow",
                  "which blocks run would depend on the block delete switch of the control",
                  "take the '/' out, or read the program with block delete on"});
    return true;
  }
  if (rules.strict_layout) {
    refuse_block({{0, static_cast<std::uint32_t>(line.text.size())},
                  "flow-not-in-standard",
                  "RS274/NGC has no jumps, loops, conditions and subprograms",
                  "post the program with the moves written out"});
    return true;
  }
  auto const* const label = boost::get<ast::OWord>(&item->get());
  if (!follow_flow()) {
    if (label != nullptr && label->keyword == ast::OKeyword::call)
      return carry_call(label->span, "the subprogram");
    refuse_block({{0, static_cast<std::uint32_t>(line.text.size())},
                  "cannot-read-again",
                  "jumps and loops need a program that can be read more than once",
                  "give the program as a file"});
    return true;
  }
  for (auto const& comment : block.comments)
    queue.push(motion::Comment{comment.text, false});
  switch (flow->run(*item, line)) {
  case Flow::Outcome::done:
    layout.meet_subprograms();
    queue.touch();
    return true;
  case Flow::Outcome::elsewhere: return label != nullptr && carry_call(label->span, "the subprogram");
  case Flow::Outcome::refused:
    executor.lose_everything();
    flow->mark_refused(line.place.line);
    queue.drop();
    return false;
  }
  return true;
}

bool ProgramReader::Implementation::carry_call(text::Span span, std::string_view what) {
  findings.add(
      text::Severity::warning, "subprogram-elsewhere",
      fmt::format("{} is not in this file: the call is carried unchanged, and what it does is not known",
                  what),
      "put the subprogram behind the end of this program to have it followed", line.place, line.text, span);
  executor.carry_call(span, line);
  return true;
}

/// M97, M98, M99 and G65, when the rest of their block is done. False when refused.
bool ProgramReader::Implementation::run_request() {
  using Kind = CallRequest::Kind;
  CallRequest const request = executor.request();
  if (block.deleted) {
    refuse({request.span, "optional-flow",
            "which blocks run would depend on the block delete switch of the control",
            "take the '/' out, or read the program with block delete on"});
    return false;
  }
  if (request.kind == Kind::back && !(flow && flow->in_call())) return end_by_return(request);
  auto const outcome = follow_flow() ? flow->run(request, line) : Flow::Outcome::elsewhere;
  if (outcome == Flow::Outcome::done) {
    layout.meet_subprograms();
    queue.touch();
    return true;
  }
  if (outcome == Flow::Outcome::refused) {
    executor.lose_everything();
    return false;
  }
  bool const alone =
      request.kind == Kind::macro || std::all_of(block.begin(), block.end(), [](grammar::Word const& word) {
        return word.letter == 'M' || word.letter == 'P' || word.letter == 'L';
      });
  if (request.kind == Kind::local || !alone) {
    refuse({request.span, "subprogram-missing",
            fmt::format("{}{} is not in this file", request.kind == Kind::local ? "line N" : "subprogram O",
                        *request.target),
            "put the call on a line of its own to have it carried unchanged"});
    return false;
  }
  queue.drop();
  text::Span const span{block.words[0].span.begin, block.words[block.size - 1].span.end};
  return carry_call(span, fmt::format("O{}", *request.target));
}

/// M99 in the main program: the control begins it anew. One turn is what there is to be read.
bool ProgramReader::Implementation::end_by_return(CallRequest const& request) {
  if (request.target) {
    refuse({request.span, "return-without-call", "M99 with P, but nothing was called that could end here",
            "end the program with M30"});
    return false;
  }
  auto const index = flow || !input.closed() ? std::nullopt : LineIndex::build(input);
  if (index && !index->programs().empty() && index->programs().back().line > line.place.line) {
    refuse(
        {request.span, "main-program-unclear",
         "M99 ends the first program of this file, and others follow: which one is the main program is not "
         "said",
         "put the main program first"});
    layout.meet_end();
    return false;
  }
  findings.add(text::Severity::note, "program-repeats",
               "M99 in the main program begins it anew: it is read once", "", line.place, line.text,
               request.span);
  queue.drop_layout();
  queue.push(
      motion::Carried{line.text.substr(request.span.begin, request.span.end - request.span.begin), false});
  layout.meet_end();
  return true;
}

} // namespace restep::interpret
