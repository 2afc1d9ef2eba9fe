#include "dialect/control_words.hpp"

#include "interpret/codes.hpp"
#include "interpret/reader.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <cmath>
#include <optional>

namespace restep::dialect {
namespace {

/// The words of an event that a template may hold; nothing for the others.
struct WordOf {
  template <typename Event>
  std::optional<motion::ControlWord> as_it_is(Event const& event) const {
    return motion::ControlWord{event, {}};
  }

  std::optional<motion::ControlWord> operator()(motion::Comment const& c) const {
    return motion::ControlWord{motion::Comment{{}, c.message}, std::string(c.text)};
  }
  std::optional<motion::ControlWord> operator()(motion::Carried const& c) const {
    if (c.motion_unknown) return std::nullopt;
    return motion::ControlWord{motion::Carried{}, std::string(c.text)};
  }
  std::optional<motion::ControlWord> operator()(motion::SpindleTurn const& s) const {
    return s.rotation == motion::Rotation::stop ? as_it_is(s) : std::nullopt;
  }
  std::optional<motion::ControlWord> operator()(motion::Stop const& s) const {
    return s.kind < motion::StopKind::end ? as_it_is(s) : std::nullopt;
  }
  std::optional<motion::ControlWord> operator()(motion::Compensation const& c) const {
    return c.side == motion::Side::off ? as_it_is(c) : std::nullopt;
  }
  std::optional<motion::ControlWord> operator()(motion::LengthOffset const& l) const {
    return l.active ? std::nullopt : as_it_is(l);
  }
  std::optional<motion::ControlWord> operator()(motion::Coolant const& c) const { return as_it_is(c); }
  std::optional<motion::ControlWord> operator()(motion::Dwell const& d) const { return as_it_is(d); }
  std::optional<motion::ControlWord> operator()(motion::Override const& o) const { return as_it_is(o); }
  std::optional<motion::ControlWord> operator()(motion::PathControl const& p) const { return as_it_is(p); }
  template <typename Other>
  std::optional<motion::ControlWord> operator()(Other const&) const {
    return std::nullopt;
  }
};

} // namespace

tl::expected<motion::ControlWords, std::string> read_control_words(std::string_view line,
                                                                   interpret::ReadRules const& rules) {
  text::Findings findings;
  auto input = text::Input::from_memory(line);
  interpret::ProgramReader reader(input, rules, findings);
  motion::ControlWords words;
  bool harmless = true;
  motion::Step step;
  while (reader.next(step)) {
    auto word = std::visit(WordOf{}, step.event);
    harmless = harmless && word.has_value();
    if (word) words.push_back(std::move(*word));
  }
  if (findings.has_errors()) return tl::unexpected(findings.all().front().message);
  if (!harmless)
    return tl::unexpected(std::string("it moves the machine or changes what the words behind it mean"));
  return words;
}

bool is_replaceable(std::string_view code) {
  auto const known = read_control_words(code, {});
  if (known && known->size() == 1 && motion::replaceable_code(known->front().event) == code) return true;
  // Codes that mean something to every reader of the language are not carried.
  bool const shaped = code.size() >= 2 && (code.front() == 'M' || code.front() == 'G') &&
                      code.find_first_not_of("0123456789.", 1) == std::string_view::npos;
  if (!shaped) return false;
  interpret::CodeTable const codes(true, {}, {});
  double const number = std::stod(std::string(code.substr(1)));
  return code.front() == 'M'
             ? codes.m(static_cast<int>(number)) == interpret::MGroup::unknown
             : codes.g(static_cast<int>(std::lround(number * 10))) == interpret::Group::unknown;
}

} // namespace restep::dialect
