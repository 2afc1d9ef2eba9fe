#include "transform/control_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace restep::transform {
namespace {

std::string tool_text(int number, Context const& context) {
  if (auto const* tool = context.tools.find(number)) return cutter::describe(*tool);
  return number < 0 ? "no tool yet" : "not in the tool table";
}

void put_in(std::string& text, std::string_view name, std::string const& value) {
  for (std::size_t at = text.find(name); at != std::string::npos; at = text.find(name, at + value.size()))
    text.replace(at, name.size(), value);
}

} // namespace

std::string fit_for_comment(std::string text) {
  std::replace_if(
      text.begin(), text.end(),
      [](char c) { return c == '(' || c == ')' || c == ';' || static_cast<unsigned char>(c) < ' '; }, ' ');
  return text;
}

motion::Event event_of(motion::ControlWord const& word, ControlValues const& values, Context& context) {
  if (auto const* comment = std::get_if<motion::Comment>(&word.event)) {
    std::string text = word.text;
    put_in(text, "{tool}", values.tool < 0 ? "none" : fmt::format("T{}", values.tool));
    put_in(text, "{tool_text}", tool_text(values.tool, context));
    put_in(text, "{program}", context.program_name);
    put_in(text, "{machine}", context.machine.name);
    context.texts.push_back(fit_for_comment(std::move(text)));
    return motion::Comment{context.texts.back(), comment->message};
  }
  if (std::holds_alternative<motion::Carried>(word.event)) {
    context.texts.push_back(word.text);
    return motion::Carried{context.texts.back(), false};
  }
  return word.event;
}

} // namespace restep::transform
