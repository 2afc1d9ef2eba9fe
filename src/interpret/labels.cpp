// O words: subprograms, branches and loops that are held together by a label.
#include "interpret/evaluate.hpp"
#include "interpret/flow.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace restep::interpret {

namespace ast = grammar::ast;
using ast::OKeyword;
using Outcome = Flow::Outcome;

namespace {

constexpr int label_locals = 30; ///< #1 to #30 belong to the called subprogram (trade practice)

bool is_one_of(OKeyword keyword, std::initializer_list<OKeyword> keywords) {
  return std::find(keywords.begin(), keywords.end(), keyword) != keywords.end();
}

} // namespace

/// The next line behind this one that has the label and one of the words.
LineIndex::Label const* Flow::after(Labels const& labels, std::initializer_list<OKeyword> keywords) const {
  for (auto const& label : labels)
    if (label.line > here() && is_one_of(label.keyword, keywords)) return &label;
  return nullptr;
}

/// The last line before this one that has the label and one of the words.
LineIndex::Label const* Flow::before(Labels const& labels, std::initializer_list<OKeyword> keywords) const {
  for (auto label = labels.rbegin(); label != labels.rend(); ++label)
    if (label->line < here() && is_one_of(label->keyword, keywords)) return &*label;
  return nullptr;
}

Outcome Flow::unmatched(ast::OWord const& word, std::string_view partner) {
  return refuse(word.span, "label-without-partner",
                fmt::format("no {} with this label belongs to it", partner),
                "check the labels of the O words");
}

Outcome Flow::run_label(ast::OWord const& word) {
  std::string name = plain_label(word.label);
  if (name.empty()) {
    auto const number = whole(word.label, word.span, "the label of an O word");
    if (!number) return Outcome::refused;
    name = std::to_string(*number);
  }
  Labels const& labels = index_.labels(name);
  switch (word.keyword) {
  case OKeyword::sub: {
    auto const* const end = after(labels, {OKeyword::endsub});
    if (end == nullptr) return unmatched(word, "endsub");
    next_ = end->line + 1;
    return Outcome::done;
  }
  case OKeyword::endsub:
  case OKeyword::return_:
    if (!in_call() || !calls_.back().by_label)
      return refuse(word.span, "return-without-call", "nothing was called that could end here", "");
    if (!word.arguments.empty())
      return refuse(word.span, "return-with-value",
                    "what becomes of a value behind endsub or return is not the same on every control",
                    "set a parameter that begins with an underscore, as in #<_result>=1, and read it there");
    end_call();
    return Outcome::done;
  case OKeyword::call: return call_label(word, name, labels);
  case OKeyword::if_:
  case OKeyword::elseif:
  case OKeyword::else_: return branch(word, labels);
  case OKeyword::endif: return Outcome::done;
  case OKeyword::do_: {
    auto const* const end = after(labels, {OKeyword::while_});
    if (end == nullptr) return unmatched(word, "while");
    keep_together(here(), end->line);
    return Outcome::done;
  }
  case OKeyword::while_:
  case OKeyword::endwhile:
  case OKeyword::repeat:
  case OKeyword::endrepeat: return turn(word, labels);
  case OKeyword::break_:
  case OKeyword::continue_: return leave_loop(word, labels);
  }
  return Outcome::done;
}

Outcome Flow::call_label(ast::OWord const& word, std::string const& name, Labels const& labels) {
  auto const is_sub = [](auto const& label) { return label.keyword == OKeyword::sub; };
  auto const count = std::count_if(labels.begin(), labels.end(), is_sub);
  if (count == 0) return Outcome::elsewhere;
  if (count > 1)
    return refuse(word.span, "subprogram-twice", fmt::format("{} stands in this file more than once", name),
                  "leave one of them out");
  if (word.arguments.size() > static_cast<std::size_t>(label_locals))
    return refuse(word.span, "too-many-arguments",
                  fmt::format("a call takes {} values at most", label_locals), "");
  Call call;
  call.by_label = true;
  call.name = name;
  call.begin = std::find_if(labels.begin(), labels.end(), is_sub)->line + 1;
  call.left = 1;
  call.locals = label_locals;
  for (auto const& argument : word.arguments) {
    auto const value = evaluate(argument, parameters_);
    if (!value) return refuse(value.error());
    call.arguments.emplace_back(static_cast<int>(call.arguments.size()) + 1, *value);
  }
  return begin(std::move(call), word.span);
}

Outcome Flow::branch(ast::OWord const& word, Labels const& labels) {
  auto const* const end = after(labels, {OKeyword::endif});
  if (end == nullptr) return unmatched(word, "endif");
  keep_together(here(), end->line);
  if (word.keyword != OKeyword::if_) {
    // The branch before it was taken.
    next_ = end->line + 1;
    return Outcome::done;
  }
  if (word.arguments.size() != 1)
    return refuse(word.span, "condition-expected", "if needs one condition in square brackets", "");
  auto holds = is_true(word.arguments.front());
  if (!holds) return Outcome::refused;
  if (*holds) return Outcome::done;
  for (std::uint32_t const line : index_.unreadable_branches())
    if (line > here() && line < end->line) return unmatched(word, "readable elseif");
  for (auto const& label : labels) {
    if (label.line <= here() || label.line > end->line) continue;
    if (label.keyword == OKeyword::elseif) {
      auto const block = grammar::parse_block(input_.text_of(index_.place(label.line)));
      if (!block) return unmatched(word, "readable elseif"); // the file changed
      ast::OWord const* other = nullptr;
      for (auto const& item : block->items)
        if (auto const* const found = boost::get<ast::OWord>(&item.get())) other = found;
      if (other == nullptr || other->arguments.size() != 1) return unmatched(word, "elseif with a condition");
      holds = is_true(other->arguments.front());
      if (!holds) return Outcome::refused;
      if (!*holds) continue;
    } else if (label.keyword != OKeyword::else_ && label.keyword != OKeyword::endif) {
      continue;
    }
    next_ = label.line + 1;
    return Outcome::done;
  }
  return unmatched(word, "endif");
}

/// The lines at which a loop decides whether it runs once more.
Outcome Flow::turn(ast::OWord const& word, Labels const& labels) {
  if (word.keyword == OKeyword::endwhile) {
    auto const* const begin = before(labels, {OKeyword::while_, OKeyword::endwhile});
    if (begin == nullptr || begin->keyword != OKeyword::while_) return unmatched(word, "while");
    if (!is_refused(begin->line)) next_ = begin->line;
    return Outcome::done;
  }
  if (word.keyword == OKeyword::endrepeat) {
    auto const* const begin = before(labels, {OKeyword::repeat, OKeyword::endrepeat});
    if (begin == nullptr || begin->keyword != OKeyword::repeat) return unmatched(word, "repeat");
    auto const left = turns().find(begin->line);
    if (left != turns().end() && --left->second > 0) next_ = begin->line + 1;
    return Outcome::done;
  }
  if (word.arguments.size() != 1)
    return refuse(word.span, "condition-expected", "this O word needs one value in square brackets", "");
  if (word.keyword == OKeyword::repeat) {
    auto const* const end = after(labels, {OKeyword::endrepeat});
    if (end == nullptr) return unmatched(word, "endrepeat");
    keep_together(here(), end->line);
    auto const count = whole(ast::Operand(word.arguments.front()), word.span, "the number of turns");
    if (!count) return Outcome::refused;
    if (*count > 0)
      turns()[here()] = *count;
    else
      next_ = end->line + 1;
    return Outcome::done;
  }
  auto const goes_on = is_true(word.arguments.front());
  if (!goes_on) return Outcome::refused;
  auto const* const begin = before(labels, {OKeyword::do_, OKeyword::while_, OKeyword::endwhile});
  if (begin != nullptr && begin->keyword == OKeyword::do_) { // the foot of do ... while
    if (*goes_on) next_ = begin->line + 1;
    return Outcome::done;
  }
  auto const* const end = after(labels, {OKeyword::endwhile});
  if (end == nullptr) return unmatched(word, "endwhile");
  keep_together(here(), end->line);
  if (!*goes_on) next_ = end->line + 1;
  return Outcome::done;
}

Outcome Flow::leave_loop(ast::OWord const& word, Labels const& labels) {
  bool const leaves = word.keyword == OKeyword::break_;
  auto const* const begin = before(labels, {OKeyword::do_, OKeyword::while_, OKeyword::repeat});
  if (begin == nullptr) return unmatched(word, "loop");
  auto const end_keyword = begin->keyword == OKeyword::do_      ? OKeyword::while_
                           : begin->keyword == OKeyword::while_ ? OKeyword::endwhile
                                                                : OKeyword::endrepeat;
  auto const* const end = after(labels, {end_keyword});
  if (end == nullptr) return unmatched(word, "loop");
  next_ = end->line + (leaves ? 1U : 0U);
  return Outcome::done;
}

} // namespace restep::interpret
