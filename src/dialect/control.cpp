#include "dialect/control.hpp"

#include "grammar/parse.hpp"
#include "motion/arc.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <string>

namespace restep::dialect {
namespace {

using motion::Modes;
using motion::Vec3;

struct Follow {
  Control& control;

  void operator()(motion::Motion const& m) const { control.position = m.to; }
  void operator()(motion::Cycle const& c) const {
    control.position = c.hole;
    control.position[motion::axes_of(c.plane).normal] = c.clear;
  }
  void operator()(motion::Home const& h) const {
    for (int axis = 0; axis < 3; ++axis) {
      if (motion::is_known(h.via[axis])) control.position[axis] = h.via[axis];
      if (h.axes & (1U << axis)) control.position[axis] = motion::unknown;
    }
  }
  void operator()(motion::MachineMove const& m) const { forget_named(m.to); }
  void operator()(motion::Probe const& p) const { forget_named(p.to); }
  void operator()(motion::WorkOffset const&) const { control.position = motion::unknown_position; }
  void operator()(motion::OffsetChange const&) const { control.position = motion::unknown_position; }
  void operator()(motion::SetOrigin const&) const { control.position = motion::unknown_position; }
  // A length offset acts along the tool, whichever plane is active.
  void operator()(motion::LengthOffset const&) const { control.position.z = motion::unknown; }
  // The control may leave the axes anywhere after a change, so the next move states all of them.
  void operator()(motion::ToolChange const& t) const {
    control.selected_tool = t.tool;
    control.position = motion::unknown_position;
  }
  void operator()(motion::Carried const& c) const {
    if (c.motion_unknown) control.position = motion::unknown_position;
  }
  void operator()(motion::SpindleSpeed const& s) const { control.rpm = s.rpm; }
  void operator()(motion::SpindleTurn const& s) const { control.rotation = s.rotation; }
  void operator()(motion::ToolSelect const& t) const { control.selected_tool = t.tool; }
  template <typename Other>
  void operator()(Other const&) const {}

  void forget_named(Vec3 const& named) const {
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(named[axis])) control.position[axis] = motion::unknown;
  }
};

void apply_code(Modes& modes, int tenths) {
  switch (tenths) {
  case 170: modes.plane = motion::Plane::xy; break;
  case 180: modes.plane = motion::Plane::zx; break;
  case 190: modes.plane = motion::Plane::yz; break;
  case 200:
  case 700: modes.units = motion::Units::inch; break;
  case 210:
  case 710: modes.units = motion::Units::mm; break;
  case 900: modes.distance = motion::Distance::absolute; break;
  case 910: modes.distance = motion::Distance::incremental; break;
  case 901: modes.arc_distance = motion::Distance::absolute; break;
  case 911: modes.arc_distance = motion::Distance::incremental; break;
  case 930: modes.feed_mode = motion::FeedMode::inverse_time; break;
  case 940: modes.feed_mode = motion::FeedMode::per_minute; break;
  case 950: modes.feed_mode = motion::FeedMode::per_revolution; break;
  case 980: modes.return_level = motion::ReturnLevel::initial; break;
  case 990: modes.return_level = motion::ReturnLevel::retract; break;
  default:
    if (tenths <= 30 || (tenths >= 382 && tenths <= 385) || tenths == 800 || is_cycle_mode(tenths))
      modes.motion = static_cast<std::int16_t>(tenths);
  }
}

// Nothing but words that leave the feed in force: no F, and of the G words G0 to G3 only. Most blocks are
// seen to be so at once.
bool is_plain_motion(std::string_view text) {
  auto const is_code = [&](std::size_t at) { return at < text.size() && text[at] >= '0' && text[at] <= '3'; };
  for (std::size_t i = 0; i < text.size(); ++i) {
    char const c = text[i];
    if (c == 'F' || c == 'f' || c == '(' || c == ';' || c == '#' || c == '[') return false;
    if (c != 'G' && c != 'g') continue;
    std::size_t const code = is_code(i + 2) && text[i + 1] == '0' ? i + 2 : i + 1;
    std::size_t const behind = text.find_first_not_of(" \t", code + 1);
    bool const ends =
        behind == std::string_view::npos || std::isalpha(static_cast<unsigned char>(text[behind])) != 0;
    if (!is_code(code) || !ends) return false;
  }
  return true;
}

} // namespace

void Control::follow(motion::Event const& event) {
  std::visit(Follow{*this}, event);
}

std::optional<Modes> modes_after(Modes before, std::string_view text) {
  if (!is_literal(text)) return std::nullopt;
  std::string words;
  for (std::size_t i = 0; i < text.size() && text[i] != ';'; ++i) {
    if (text[i] == '(') {
      i = text.find(')', i);
      if (i == std::string_view::npos) break;
    } else if (text[i] != ' ' && text[i] != '\t') {
      words += static_cast<char>(std::toupper(static_cast<unsigned char>(text[i])));
    }
  }
  motion::FeedMode const feed_mode = before.feed_mode;
  motion::Units const units = before.units;
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    if (words[i] == 'F') before.feed = motion::unknown;
    if (words[i] != 'G' && words[i] != 'M') continue;
    double code = 0;
    auto const* end = words.data() + words.size();
    if (std::from_chars(words.data() + i + 1, end, code, std::chars_format::fixed).ec != std::errc{})
      return std::nullopt;
    int const tenths = static_cast<int>(std::lround(code * 10));
    if (words[i] == 'G') apply_code(before, tenths);
    if (words[i] == 'M' && (tenths == 20 || tenths == 300)) return std::nullopt;
  }
  if (before.feed_mode != feed_mode || before.units != units) before.feed = motion::unknown;
  return before;
}

bool leaves_feed(std::string_view text, Modes modes) {
  if (is_plain_motion(text)) return true;
  modes.feed = 0;
  auto const after = modes_after(modes, text);
  return after && motion::is_known(after->feed);
}

bool is_settings_only(std::string_view text) {
  namespace ast = grammar::ast;
  auto const block = grammar::parse_block(text);
  if (!block || block->deleted) return false;
  auto const sets = [](ast::Item const& item) { return boost::get<ast::Setting>(&item.get()) != nullptr; };
  auto const remarks = [](ast::Item const& item) { return boost::get<ast::Comment>(&item.get()) != nullptr; };
  return std::any_of(block->items.begin(), block->items.end(), sets) &&
         std::all_of(block->items.begin(), block->items.end(),
                     [&](ast::Item const& item) { return sets(item) || remarks(item); });
}

bool is_comment_only(std::string_view text) {
  std::size_t i = 0;
  auto const skip_blanks = [&] {
    while (i < text.size() && (text[i] == ' ' || text[i] == '\t'))
      ++i;
  };
  skip_blanks();
  if (i < text.size() && (text[i] == 'N' || text[i] == 'n')) {
    ++i;
    while (i < text.size() && (std::isdigit(static_cast<unsigned char>(text[i])) || text[i] == ' '))
      ++i;
  }
  while (true) {
    skip_blanks();
    if (i >= text.size() || text[i] == ';') return true;
    if (text[i] != '(') return false;
    i = text.find(')', i);
    if (i == std::string_view::npos) return false;
    ++i;
  }
}

bool same_position(Vec3 const& a, Vec3 const& b) {
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(a[axis]) != motion::is_known(b[axis])) return false;
    if (motion::is_known(a[axis]) && std::abs(a[axis] - b[axis]) > same_place) return false;
  }
  return true;
}

} // namespace restep::dialect
