#include "interpret/flow.hpp"

#include "interpret/evaluate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::interpret {

namespace ast = grammar::ast;
using Outcome = Flow::Outcome;

namespace {

constexpr std::size_t deepest_call = 32;
constexpr int macro_locals = 33; ///< #1 to #33 belong to a macro call (trade practice)
constexpr std::int64_t packed = 10'000;

} // namespace

Flow::Flow(text::Input& input, Parameters& parameters, text::Findings& findings, PassageFinder& passages,
           LineIndex index, std::uint32_t line, int most_blocks)
    : input_(input)
    , parameters_(parameters)
    , findings_(findings)
    , passages_(passages)
    , index_(std::move(index))
    , next_(line + 1)
    , main_line_(line)
    , furthest_(line)
    , most_blocks_(static_cast<std::uint64_t>(most_blocks))
    , most_refused_(most_blocks_) {}

Outcome Flow::refuse(text::Span span, std::string code, std::string message, std::string hint) {
  findings_.add(text::Severity::error, std::move(code), std::move(message), std::move(hint), line_->place,
                line_->text, span);
  return Outcome::refused;
}

Outcome Flow::refuse(grammar::ParseError const& error) {
  if (error.code == lost_parameter) return Outcome::refused;
  return refuse(error.span, error.code, error.message, error.hint);
}

void Flow::mark_refused(std::uint32_t line) {
  // Only to find what else is wrong: a loop whose counter stood in that line may never end.
  constexpr std::uint64_t enough = 100'000;
  refused_.insert(line);
  most_refused_ = std::min(most_refused_, executed_ + enough);
}

bool Flow::is_refused(std::uint32_t line) const {
  return refused_.contains(line);
}

bool Flow::next(text::Line& line) {
  if (next_ > index_.size()) return false;
  text::Place const place = index_.place(next_);
  text_ = input_.text_of(place);
  line = {text_, place, text::LineEnd::lf};
  line_ = &line;
  if (text_.size() != place.length) {
    refuse({0, 1}, "cannot-read-again", "this line is needed again, but it can no longer be read",
           "give the program as a file");
    return stop();
  }
  if (++executed_ > most_blocks_) {
    refuse({0, std::max(place.length, 1U)}, "too-many-blocks",
           fmt::format("{} blocks were executed, and the program has no end yet: a loop may run for ever",
                       most_blocks_),
           "check the conditions of its loops and jumps; a program that really is this long needs a dialect "
           "with more most_blocks");
    return stop();
  }
  if (executed_ > most_refused_) return stop();
  displaced_ = in_call() || place.line <= furthest_;
  if (!in_call()) {
    if (!ended_) note_transfer(place.line);
    furthest_ = std::max(furthest_, place.line);
    main_line_ = place.line;
  }
  ++next_;
  return true;
}

void Flow::keep_together(std::uint32_t first, std::uint32_t last) {
  if (!in_call() && !ended_) passages_.join(index_.place(first), index_.place(last), true);
}

/// The main program goes on at this line.
void Flow::note_transfer(std::uint32_t line) {
  if (line > main_line_ + 1)
    keep_together(main_line_, line - 1);
  else if (line <= main_line_)
    keep_together(line, main_line_);
}

void Flow::end_program() {
  ended_ = true;
  while (in_call())
    end_call();
  next_ = furthest_ + 1;
}

bool Flow::stop() {
  end_program();
  next_ = index_.size() + 1;
  return false;
}

void Flow::refuse_open_call(text::Line const& line) {
  line_ = &line;
  Call const& call = calls_.back();
  refuse({0, std::max(line.place.length, 1U)}, "subprogram-without-return",
         fmt::format("{} runs on to here: it has no {}", call.name, call.by_label ? "endsub" : "M99"),
         fmt::format("end it with {}", call.by_label ? "endsub" : "M99"));
  end_program();
}

// Calls.

void Flow::set_arguments(Call const& call) {
  for (auto const& [index, value] : call.arguments)
    parameters_.set(index, value);
}

Outcome Flow::begin(Call call, text::Span span) {
  if (calls_.size() == deepest_call)
    return refuse(span, "calls-too-deep", fmt::format("calls are nested more than {} deep", deepest_call),
                  "");
  for (Call const& open : calls_)
    if (open.begin == call.begin && open.by_label == call.by_label)
      return refuse(span, "recursive-call", fmt::format("{} calls itself", call.name),
                    "a subprogram that calls itself is not followed: write it as a loop");
  if (call.locals > 0) parameters_.enter(call.locals);
  set_arguments(call);
  call.back = next_;
  next_ = call.begin;
  calls_.push_back(std::move(call));
  return Outcome::done;
}

void Flow::end_call() {
  if (calls_.back().locals > 0) parameters_.leave();
  next_ = calls_.back().back;
  calls_.pop_back();
}

Outcome Flow::run(CallRequest const& request, text::Line const& line) {
  using Kind = CallRequest::Kind;
  line_ = &line;
  if (request.kind == Kind::back) {
    if (calls_.back().by_label)
      return refuse(request.span, "return-of-another-kind",
                    fmt::format("M99 ends a subprogram that M98 calls, but {} was called by its label",
                                calls_.back().name),
                    "end it with endsub");
    Call& call = calls_.back();
    if (request.target) {
      std::uint32_t const caller = call.back - 1;
      end_call();
      return jump(*request.target, index_.section_of(caller), request.span);
    }
    if (--call.left == 0) {
      end_call();
      return Outcome::done;
    }
    if (call.locals > 0) {
      parameters_.leave();
      parameters_.enter(call.locals);
      set_arguments(call);
    }
    next_ = call.begin;
    return Outcome::done;
  }

  std::int64_t number = *request.target;
  std::int64_t repeats = request.repeats.value_or(1);
  Call call;
  call.kind = request.kind;
  if (request.kind == Kind::local) {
    std::uint32_t begin = 0;
    if (auto const found = find_line(number, index_.section_of(here()), request.span, begin);
        found != Outcome::done)
      return found;
    call.begin = begin;
    call.name = fmt::format("the subprogram at N{}", number);
  } else {
    auto const count = [&](std::int64_t wanted) {
      return std::count_if(index_.programs().begin(), index_.programs().end(),
                           [&](auto const& program) { return program.number == wanted; });
    };
    // M98 P30012: three times O12, where the file has no O30012.
    bool const may_be_packed = request.kind == Kind::program && !request.repeats && number >= packed;
    if (may_be_packed && count(number % packed) != 0) {
      if (count(number) != 0)
        return refuse(request.span, "call-ambiguous",
                      fmt::format("P{} may mean O{}, or {} times O{}, and both are in the file", number,
                                  number, number / packed, number % packed),
                      "write the repeats as L");
      repeats = number / packed;
      number %= packed;
    }
    if (count(number) == 0) return Outcome::elsewhere;
    if (count(number) > 1)
      return refuse(request.span, "subprogram-twice",
                    fmt::format("O{} stands in this file more than once", number), "leave one of them out");
    auto const found = std::find_if(index_.programs().begin(), index_.programs().end(),
                                    [&](auto const& program) { return program.number == number; });
    call.begin = found->line;
    call.name = fmt::format("O{}", number);
  }
  keep_together(here(), here());
  if (repeats == 0) return Outcome::done;
  call.left = repeats;
  if (request.kind == Kind::macro) {
    call.locals = macro_locals;
    call.arguments = request.arguments;
  }
  return begin(std::move(call), request.span);
}

// Jumps and conditions.

Outcome Flow::find_line(std::int64_t number, LineIndex::Section section, text::Span span,
                        std::uint32_t& line) {
  auto const found = index_.numbered(number, section);
  if (found.empty())
    return refuse(span, "jump-target-missing",
                  fmt::format("no line of this program has the number N{}", number), "");
  if (found.size() > 1)
    return refuse(
        span, "jump-target-twice",
        fmt::format("lines {} and {} both have the number N{}: controls differ in which one they find",
                    found[0], found[1], number),
        "number the program again");
  line = found.front();
  return Outcome::done;
}

Outcome Flow::jump(std::int64_t number, LineIndex::Section section, text::Span span) {
  std::uint32_t line = 0;
  auto const outcome = find_line(number, section, span, line);
  if (outcome == Outcome::done) next_ = line;
  return outcome;
}

std::optional<std::int64_t> Flow::whole(ast::Operand const& value, text::Span span, std::string_view what) {
  constexpr double tolerance = 0.0001; // NISTIR 6556, 3.3.2.1
  auto const result = evaluate(value, parameters_);
  if (!result) {
    refuse(result.error());
    return std::nullopt;
  }
  if (!(std::abs(*result) < 1e9) || std::abs(*result - std::round(*result)) > tolerance) {
    refuse(span, "whole-number-expected", fmt::format("{} must be a whole number, found {}", what, *result),
           "");
    return std::nullopt;
  }
  return std::llround(*result);
}

std::optional<bool> Flow::is_true(ast::Expression const& condition) {
  auto const value = evaluate(condition, parameters_);
  if (value) return *value != 0;
  grammar::ParseError error = value.error();
  if (error.code == "unknown-parameter") error.message += "; which blocks run depends on it";
  refuse(error);
  return std::nullopt;
}

Outcome Flow::go_to(ast::Operand const& target, text::Span span) {
  auto const number = whole(target, span, "the line number of a jump");
  if (!number) return Outcome::refused;
  return jump(*number, index_.section_of(here()), span);
}

Outcome Flow::run_setting(ast::Setting const& setting) {
  ast::Block block;
  block.kind = grammar::LineKind::block;
  block.items.emplace_back(setting);
  grammar::WordBlock words;
  auto const evaluated = evaluate(block, line_->text, parameters_, words, Unknowns::allowed);
  if (!evaluated) return refuse(evaluated.error());
  if (auto const error = own_by_control(*evaluated)) return refuse(*error);
  apply(evaluated->settings, parameters_);
  return Outcome::done;
}

// Numbered loops: WHILE [..] DO n ... END n.

Outcome Flow::loop_end(std::int64_t number, text::Span span) {
  auto const section = index_.section_of(here());
  for (auto const& mark : index_.loops()) {
    if (mark.line <= here() || mark.line > section.last || mark.number != number) continue;
    if (mark.begins) break;
    keep_together(here(), mark.line);
    next_ = mark.line + 1;
    return Outcome::done;
  }
  return refuse(span, "loop-not-closed", fmt::format("DO {} has no END {}", number, number), "");
}

Outcome Flow::run_while(ast::While const& loop) {
  auto const number = whole(loop.number, loop.span, "the number of a loop");
  if (!number) return Outcome::refused;
  auto const goes_on = is_true(loop.condition);
  if (!goes_on) return Outcome::refused;
  auto const resume = next_;
  auto const outcome = loop_end(*number, loop.span);
  if (outcome == Outcome::done && *goes_on) next_ = resume;
  return outcome;
}

Outcome Flow::run_loop(ast::Loop const& loop) {
  auto const number = whole(loop.number, loop.span, "the number of a loop");
  if (!number) return Outcome::refused;
  if (loop.part == ast::LoopPart::begin) {
    auto const resume = next_;
    auto const outcome = loop_end(*number, loop.span);
    if (outcome == Outcome::done) next_ = resume;
    return outcome;
  }
  auto const section = index_.section_of(here());
  LineIndex::Loop const* begin = nullptr;
  for (auto const& mark : index_.loops())
    if (mark.line < here() && mark.line >= section.first && mark.number == *number) begin = &mark;
  if (begin == nullptr || !begin->begins)
    return refuse(loop.span, "loop-not-begun", fmt::format("END {} has no DO {} before it", *number, *number),
                  "");
  if (!is_refused(begin->line)) next_ = begin->line;
  return Outcome::done;
}

struct Flow::Run {
  Flow& flow;

  Outcome operator()(ast::Conditional const& node) const {
    auto const holds = flow.is_true(node.condition);
    if (!holds) return Outcome::refused;
    if (!*holds) return Outcome::done;
    if (auto const* const go_to = boost::get<ast::Goto>(&node.consequence.get()))
      return flow.go_to(go_to->target, go_to->span);
    return flow.run_setting(boost::get<ast::Setting>(node.consequence.get()));
  }
  Outcome operator()(ast::While const& node) const { return flow.run_while(node); }
  Outcome operator()(ast::Loop const& node) const { return flow.run_loop(node); }
  Outcome operator()(ast::Goto const& node) const { return flow.go_to(node.target, node.span); }
  Outcome operator()(ast::OWord const& node) const { return flow.run_label(node); }
  template <class Other>
  Outcome operator()(Other const&) const {
    return Outcome::done;
  }
};

Outcome Flow::run(ast::Item const& item, text::Line const& line) {
  line_ = &line;
  keep_together(here(), here());
  return boost::apply_visitor(Run{*this}, item.get());
}

} // namespace restep::interpret
