#include "dialect/control_words.hpp"
#include "dialect/profile_fields.hpp"
#include "motion/work_offset.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::dialect {
namespace {

/// A line of a template as the file has it.
struct WrittenLine {
  std::string text;
  toml::source_position at;
};

/// What can be read only when the whole file is known.
struct LateLines {
  std::vector<WrittenLine> head, end, before_tool_change, after_tool_change, before_stop;
  std::map<std::string, WrittenLine> replace;
};

constexpr std::string_view length_letters = "XYZIJKRQP";

/// { I = 5, J = 5 }: digits of single letters.
void add_letters(ProfileFields& fields, std::string key, LetterDecimals& letters, int most) {
  auto read = [&letters, key, most](toml::node const& node, ProfileErrors& errors) {
    auto const* table = node.as_table();
    if (table == nullptr) {
      errors.add(node.source().begin,
                 fmt::format("'{}' must be a table such as {{ I = 5, J = 5, K = 5 }}, found {}", key,
                             describe(node)));
      return;
    }
    for (auto const& [letter, value] : *table) {
      std::string_view const name = letter.str();
      if (name.size() != 1 || length_letters.find(name.front()) == std::string_view::npos) {
        errors.add(letter.source().begin, fmt::format("'{}': '{}' is no letter of a length", key, name),
                   fmt::format("lengths have the letters {}", fmt::join(length_letters, " ")));
        continue;
      }
      double decimals = 0;
      if (read_number(value, fmt::format("{}.{}", key, name), 0, most, decimals, errors))
        letters[name.front()] = static_cast<std::int8_t>(decimals);
    }
  };
  fields.other("numbers", std::move(key), std::move(read));
}

/// A list of lines, or one line. They are read when the rest of the profile is known.
void add_lines(ProfileFields& fields, std::string key, std::vector<WrittenLine>& lines) {
  auto read = [&lines, key](toml::node const& node, ProfileErrors& errors) {
    auto const* list = node.as_array();
    bool const good = list != nullptr && std::all_of(list->begin(), list->end(),
                                                     [](toml::node const& line) { return line.is_string(); });
    if (!good) {
      errors.add(node.source().begin,
                 fmt::format("'{}' must be a list of lines, found {}", key, describe(node)));
      return;
    }
    lines.clear();
    for (toml::node const& line : *list)
      lines.push_back({line.as_string()->get(), line.source().begin});
  };
  fields.other("templates", std::move(key), std::move(read));
}

/// { M8 = "M7", M50 = "" }
void add_replacements(ProfileFields& fields, std::map<std::string, WrittenLine>& replacements) {
  auto read = [&replacements](toml::node const& node, ProfileErrors& errors) {
    auto const* table = node.as_table();
    if (table == nullptr) {
      errors.add(
          node.source().begin,
          fmt::format("'replace' must be a table such as {{ M8 = \"M7\" }}, found {}", describe(node)));
      return;
    }
    for (auto const& [code, words] : *table) {
      if (!words.is_string()) {
        errors.add(words.source().begin,
                   fmt::format("'replace': '{}' must become a text, found {}", code.str(), describe(words)));
        continue;
      }
      replacements[std::string(code.str())] = {words.as_string()->get(), words.source().begin};
    }
  };
  fields.other("words", "replace", std::move(read));
}

void add_numbers(ProfileFields& fields, Dialect& d) {
  add_letters(fields, "letters_mm", d.letters_mm, 6);
  add_letters(fields, "letters_inch", d.letters_inch, 7);
  fields.flag("numbers", "count_increments", d.count_increments);
  fields.flag("numbers", "plus_sign", d.plus_sign);
  fields.integer("numbers", "decimals_mm", d.decimals_mm, 0, 6);
  fields.integer("numbers", "decimals_inch", d.decimals_inch, 0, 7);
  fields.integer("numbers", "decimals_feed", d.decimals_feed, 0, 6);
  fields.integer("numbers", "decimals_feed_inch", d.decimals_feed_inch, 0, 6);
  fields.integer("numbers", "decimals_speed", d.decimals_speed, 0, 3);
  fields.flag("numbers", "always_point", d.always_point);
  fields.flag("numbers", "trailing_zeros", d.trailing_zeros);
  fields.flag("numbers", "leading_zero_codes", d.leading_zero_codes);
}

void add_blocks(ProfileFields& fields, Dialect& d, int& max_line_length) {
  fields.flag("blocks", "spaces", d.spaces);
  fields.text("blocks", "word_order", d.word_order);
  fields.flag("blocks", "repeat_codes", d.repeat_codes);
  fields.flag("blocks", "repeat_axes", d.repeat_axes);
  fields.flag("blocks", "incremental_moves", d.incremental_moves);
  fields.flag("blocks", "repeat_feed", d.repeat_feed);
  fields.choice<NumberedBlocks>(
      "blocks", "numbered_blocks", d.numbered,
      {{"all", NumberedBlocks::all}, {"tool_changes", NumberedBlocks::tool_changes}});
  fields.flag("blocks", "line_numbers", d.line_numbers);
  fields.integer("blocks", "line_number_start", d.line_number_start, 0, 99999);
  fields.integer("blocks", "line_number_step", d.line_number_step, 1, 1000);
  fields.integer("blocks", "max_line_length", max_line_length, 40, 100000);
  fields.choice<std::string>("blocks", "line_end", d.line_end,
                             {{"lf", "\n"}, {"crlf", "\r\n"}, {"cr", "\r"}});
  fields.flag("blocks", "percent", d.percent);
  fields.flag("blocks", "program_numbers", d.program_numbers);
  fields.integer("blocks", "default_program_number", d.default_program_number, 0, 99999999);
  fields.flag("blocks", "blank_lines", d.blank_lines);
  fields.flag("blocks", "comments", d.comments);
  fields.choice<char>("blocks", "comment_style", d.comment_style, {{"parentheses", '('}, {"semicolon", ';'}});
  fields.flag("blocks", "messages", d.messages);
  fields.flag("blocks", "ascii_comments", d.ascii_comments);
  fields.flag("blocks", "upper_case_comments", d.upper_case_comments);
  fields.text("blocks", "comment_characters", d.comment_characters);
}

void add_words(ProfileFields& fields, Dialect& d) {
  fields.flag("words", "inch", d.inch);
  fields.flag("words", "millimetre", d.millimetre);
  fields.flag("words", "iso_unit_codes", d.iso_unit_codes);
  fields.codes("words", "cycles", d.cycle_codes, 10, 73, 89);
  fields.flag("words", "length_offset", d.length_offset);
  fields.integer("words", "work_offsets", d.work_offset_count, 0, motion::standard_work_offsets);
  fields.integer("words", "further_work_offsets", d.further_work_offsets, 0,
                 motion::most_further_work_offsets);
  fields.flag("words", "machine_coordinates", d.machine_coordinates);
  fields.flag("words", "home", d.home);
  fields.flag("words", "tool_change", d.tool_change);
  fields.flag("words", "path_control", d.path_control);
  fields.flag("words", "path_tolerance", d.path_tolerance);
  fields.flag("words", "compensation", d.compensation);
  fields.flag("words", "probe", d.probe);
  fields.flag("words", "coordinate_shift", d.coordinate_shift);
  fields.flag("words", "local_shift", d.local_shift);
  fields.flag("words", "set_origin", d.set_origin);
  fields.flag("words", "set_origin_here", d.set_origin_here);
  fields.flag("words", "overrides", d.overrides);
  fields.flag("words", "pallets", d.pallets);
  fields.flag("words", "inverse_time", d.inverse_time);
  fields.flag("words", "feed_per_revolution", d.feed_per_revolution);
  fields.flag("words", "block_delete", d.block_delete);
  fields.flag("words", "parameters", d.parameters);
  fields.flag("words", "calls", d.calls);
  fields.flag("words", "dwell_in_milliseconds", d.dwell_in_milliseconds);
}

void add_arcs(ProfileFields& fields, Dialect& d) {
  fields.flag("arcs", "xy", d.arcs_xy);
  fields.flag("arcs", "zx", d.arcs_zx);
  fields.flag("arcs", "yz", d.arcs_yz);
  fields.flag("arcs", "helical", d.helical_arcs);
  fields.flag("arcs", "full_circles", d.full_circles);
  fields.flag("arcs", "centre_absolute", d.arc_centre_absolute);
  fields.flag("arcs", "radius_form", d.arc_radius_form);
  fields.choice<ArcSplit>(
      "arcs", "split", d.arc_split,
      {{"none", ArcSplit::none}, {"halves", ArcSplit::halves}, {"quadrants", ArcSplit::quadrants}});
  fields.number("arcs", "smallest_radius", d.smallest_radius_mm, 0, 1000);
  fields.number("arcs", "largest_radius", d.largest_radius_mm, 0, 1e6);
  fields.number("arcs", "shortest_arc", d.shortest_arc_mm, 0, 1000);
  fields.number("arcs", "chord_tolerance", d.chord_tolerance_mm, 0.0001, 1);
  fields.number("arcs", "radius_tolerance_mm", d.read.arc_tolerance_mm, 0.0001, 1);
  fields.number("arcs", "radius_tolerance_inch", d.read.arc_tolerance_inch, 0.000001, 0.1);
}

void add_reading(ProfileFields& fields, Dialect& d) {
  fields.flag("reading", "strict_layout", d.read.strict_layout);
  fields.flag("reading", "count_without_point", d.read.count_without_point);
  fields.number("reading", "least_increment_mm", d.read.least_increment_mm, 0.000001, 1);
  fields.number("reading", "least_increment_inch", d.read.least_increment_inch, 0.0000001, 0.1);
  fields.flag("reading", "iso_units", d.read.iso_units);
  fields.flag("reading", "home_moves_all_axes", d.read.home_moves_all_axes);
  fields.flag("reading", "initial_level_sticky", d.read.initial_level_sticky);
  fields.flag("reading", "repeats_in_k", d.read.repeats_in_k);
  fields.flag("reading", "starts_in_inch", d.read.starts_in_inch);
  fields.flag("reading", "block_delete_on", d.read.block_delete);
  fields.integer("reading", "most_blocks", d.read.most_blocks, 1, 2'000'000'000);
  fields.codes("reading", "carried_g", d.read.carried_g, 10, 0, 999.9);
  fields.codes("reading", "carried_m", d.read.carried_m, 1, 0, 999);
}

/// What a control that counts increments must be able to read back.
template <typename Refuse>
void check_increments(Dialect const& d, Refuse const& refuse) {
  if (!d.read.count_without_point) {
    refuse("numbers", "count_increments", "lengths would be written as counts but be read as millimetres",
           "set [reading] count_without_point = true");
    return;
  }
  if (d.always_point || d.trailing_zeros)
    refuse("numbers", "count_increments", "a count of increments has neither a point nor decimals",
           "set always_point = false and trailing_zeros = false");
  for (auto const units : {motion::Units::mm, motion::Units::inch}) {
    bool const mm = units == motion::Units::mm;
    if (mm ? !d.millimetre : !d.inch) continue;
    double const increment = mm ? d.read.least_increment_mm : d.read.least_increment_inch;
    for (char const letter : length_letters) {
      double const digit = std::pow(10.0, -d.decimals_of(letter, units));
      if (std::abs(digit - increment) < 1e-6 * increment) continue;
      refuse("numbers", "count_increments",
             fmt::format("{} has digits of {} {}, but the control counts {} {}", letter, digit,
                         mm ? "mm" : "inch", increment, mm ? "mm" : "inch"),
             fmt::format("make [numbers] {} agree with [reading] {}", mm ? "decimals_mm" : "decimals_inch",
                         mm ? "least_increment_mm" : "least_increment_inch"));
      break;
    }
  }
}

/// Reads what the profile wants written at certain places, once it is known what the control understands.
void read_late_lines(LateLines const& lines, Dialect& d, ProfileErrors& errors) {
  auto const words_of = [&](WrittenLine const& line) {
    auto words = read_control_words(line.text, d.read);
    if (!words) {
      errors.add(line.at, fmt::format("\"{}\" cannot be put into a program: {}", line.text, words.error()),
                 "remarks, stops, M5, coolant, G4, G40, G49 and the codes in carried_g and carried_m can");
      return motion::ControlWords{};
    }
    return *words;
  };
  auto const read_all = [&](std::vector<WrittenLine> const& from, motion::ControlWords& to) {
    if (from.empty()) return;
    to.clear();
    for (WrittenLine const& line : from)
      for (motion::ControlWord& word : words_of(line))
        to.push_back(std::move(word));
  };
  read_all(lines.head, d.habits.head);
  read_all(lines.end, d.habits.end);
  read_all(lines.before_tool_change, d.habits.before_tool_change);
  read_all(lines.after_tool_change, d.habits.after_tool_change);
  read_all(lines.before_stop, d.habits.before_stop);
  for (auto const& [code, line] : lines.replace) {
    if (is_replaceable(code)) {
      d.habits.replace[code] = words_of(line);
    } else {
      errors.add(line.at, fmt::format("'replace': {} cannot be replaced", code),
                 "M1, M7, M8, M9, M48, M49, M60, G61, G61.1, G64 and codes that are only carried can");
    }
  }
}

/// Settings that are each allowed but not together.
void check_contradictions(ProfileFields const& fields, Dialect const& d, ProfileErrors& errors) {
  auto const refuse = [&](std::string const& section, std::string const& key, std::string message,
                          std::string hint) {
    errors.add(fields.where(section, key), std::move(message), std::move(hint));
  };
  if (!d.inch && !d.millimetre)
    refuse("words", "inch", "the control has neither inches nor millimetres", "set one of them to true");
  if (d.read.starts_in_inch && !d.inch)
    refuse("reading", "starts_in_inch", "the control starts in inches but has no inches",
           "set [words] inch = true or starts_in_inch = false");
  if (d.read.count_without_point && !d.always_point && !d.count_increments)
    refuse("reading", "count_without_point",
           "a length without a point would be read as a count of increments",
           "set [numbers] always_point = true, or count_increments = true");
  if (d.count_increments) check_increments(d, refuse);
  if (d.decimals_of('I', motion::Units::mm) != d.decimals_of('J', motion::Units::mm) ||
      d.decimals_of('J', motion::Units::mm) != d.decimals_of('K', motion::Units::mm) ||
      d.decimals_of('I', motion::Units::inch) != d.decimals_of('J', motion::Units::inch) ||
      d.decimals_of('J', motion::Units::inch) != d.decimals_of('K', motion::Units::inch))
    refuse("numbers", fields.given("numbers", "letters_mm") ? "letters_mm" : "letters_inch",
           "I, J and K must have the same digits: they say one point", "give all three the same number");
  if (d.arc_radius_form && d.arc_centre_absolute)
    refuse("arcs", "radius_form", "an arc is said by its radius or by its centre, not by both",
           "set centre_absolute = false or radius_form = false");
  if (d.largest_radius_mm > 0 && d.largest_radius_mm < d.smallest_radius_mm)
    refuse("arcs", "largest_radius", "the largest radius is smaller than the smallest", "0 means no limit");
  if (d.iso_unit_codes && !d.read.iso_units)
    refuse("words", "iso_unit_codes", "G70 and G71 would be written but not be read as units",
           "set [reading] iso_units = true");
  if (d.read.strict_layout && d.comments && d.comment_style == ';')
    refuse("blocks", "comment_style", "a strict layout has no ';' comments",
           "set comment_style = \"parentheses\" or strict_layout = false");
  if (d.read.strict_layout && d.program_numbers)
    refuse("blocks", "program_numbers", "a strict layout has no program numbers",
           "set program_numbers = false or strict_layout = false");
  if (d.read.strict_layout && d.max_line_length > 254)
    refuse("blocks", "max_line_length", "a strict layout has at most 254 characters before the line end", "");
  if (d.default_program_number != 0 && !d.program_numbers)
    refuse("blocks", "default_program_number", "a program number cannot be written without O words",
           "set program_numbers = true");
  if (d.full_circles && !d.arcs_xy && !d.arcs_zx && !d.arcs_yz)
    refuse("arcs", "full_circles", "full circles without arcs in any plane",
           "set full_circles = false, or give a plane");
  if (d.helical_arcs && !d.arcs_xy && !d.arcs_zx && !d.arcs_yz)
    refuse("arcs", "helical", "helical arcs without arcs in any plane",
           "set helical = false, or give a plane");
  if (d.calls && !d.parameters)
    refuse("words", "parameters", "subprograms and loops work with parameters", "set calls = false as well");
  if (d.path_tolerance && !d.path_control)
    refuse("words", "path_tolerance", "G64 P without G64", "set path_control = true");
}

} // namespace

void read_dialect(toml::table const& table, Dialect& d, ProfileErrors& errors) {
  ProfileFields fields;
  int max_line_length = static_cast<int>(d.max_line_length);
  if (!d.work_offsets) d.work_offset_count = 0;
  LateLines late;
  add_numbers(fields, d);
  add_blocks(fields, d, max_line_length);
  add_words(fields, d);
  add_arcs(fields, d);
  add_reading(fields, d);
  add_replacements(fields, late.replace);
  add_lines(fields, "head", late.head);
  add_lines(fields, "end", late.end);
  add_lines(fields, "before_tool_change", late.before_tool_change);
  add_lines(fields, "after_tool_change", late.after_tool_change);
  add_lines(fields, "before_stop", late.before_stop);

  auto const before = errors.all.size();
  fields.read(table, errors);
  d.max_line_length = static_cast<std::size_t>(max_line_length);
  d.cycles = !d.cycle_codes.empty();
  d.work_offsets = d.work_offset_count > 0;
  // The control means the same by G4 P when it reads its program as when it was written for it.
  d.read.dwell_in_milliseconds = d.dwell_in_milliseconds;
  if (errors.all.size() != before) return;
  read_late_lines(late, d, errors);
  check_contradictions(fields, d, errors);
}

int Dialect::decimals_of(char letter, motion::Units units) const {
  bool const mm = units == motion::Units::mm;
  auto const own = (mm ? letters_mm : letters_inch)[letter];
  return own >= 0 ? own : mm ? decimals_mm : decimals_inch;
}

namespace {

double coarsest_digit(Dialect const& dialect, std::string_view letters, motion::Units units) {
  int fewest = 9;
  for (char const letter : letters)
    fewest = std::min(fewest, dialect.decimals_of(letter, units));
  return (units == motion::Units::mm ? 1 : 25.4) * std::pow(10.0, -fewest);
}

} // namespace

double Dialect::resolution(motion::Units units) const {
  return coarsest_digit(*this, "XYZ", units);
}

double Dialect::arc_resolution(motion::Units units) const {
  return coarsest_digit(*this, arc_radius_form ? "XYZR" : "XYZIJK", units);
}

std::uint8_t Dialect::state_words() const {
  namespace word = motion::state_word;
  std::uint8_t words = word::units | word::distance;
  if (arcs_zx || arcs_yz) words |= word::plane;
  if (inverse_time || feed_per_revolution) words |= word::feed_mode;
  if (cycles) words |= word::cycle;
  if (compensation) words |= word::compensation;
  return words;
}

bool Dialect::has_plane(motion::Plane plane) const {
  switch (plane) {
  case motion::Plane::xy: return arcs_xy;
  case motion::Plane::zx: return arcs_zx;
  case motion::Plane::yz: return arcs_yz;
  }
  return false;
}

bool Dialect::has_cycle(int code) const {
  return cycles && std::find(cycle_codes.begin(), cycle_codes.end(), code) != cycle_codes.end();
}

} // namespace restep::dialect
