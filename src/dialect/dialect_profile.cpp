#include "dialect/profile_fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::dialect {
namespace {

void add_numbers(ProfileFields& fields, Dialect& d) {
  fields.integer("numbers", "decimals_mm", d.decimals_mm, 0, 6);
  fields.integer("numbers", "decimals_inch", d.decimals_inch, 0, 7);
  fields.integer("numbers", "decimals_feed", d.decimals_feed, 0, 6);
  fields.integer("numbers", "decimals_speed", d.decimals_speed, 0, 3);
  fields.flag("numbers", "always_point", d.always_point);
  fields.flag("numbers", "trailing_zeros", d.trailing_zeros);
  fields.flag("numbers", "leading_zero_codes", d.leading_zero_codes);
}

void add_blocks(ProfileFields& fields, Dialect& d, int& max_line_length) {
  fields.flag("blocks", "spaces", d.spaces);
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
}

void add_words(ProfileFields& fields, Dialect& d) {
  fields.flag("words", "inch", d.inch);
  fields.flag("words", "millimetre", d.millimetre);
  fields.flag("words", "iso_unit_codes", d.iso_unit_codes);
  fields.codes("words", "cycles", d.cycle_codes, 10, 73, 89);
  fields.flag("words", "length_offset", d.length_offset);
  fields.integer("words", "work_offsets", d.work_offset_count, 0, 9);
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
  fields.flag("words", "overrides", d.overrides);
  fields.flag("words", "pallets", d.pallets);
  fields.flag("words", "inverse_time", d.inverse_time);
  fields.flag("words", "feed_per_revolution", d.feed_per_revolution);
  fields.flag("words", "block_delete", d.block_delete);
  fields.flag("words", "dwell_in_milliseconds", d.dwell_in_milliseconds);
}

void add_arcs(ProfileFields& fields, Dialect& d) {
  fields.flag("arcs", "xy", d.arcs_xy);
  fields.flag("arcs", "zx", d.arcs_zx);
  fields.flag("arcs", "yz", d.arcs_yz);
  fields.flag("arcs", "helical", d.helical_arcs);
  fields.flag("arcs", "full_circles", d.full_circles);
  fields.flag("arcs", "centre_absolute", d.arc_centre_absolute);
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
  fields.flag("reading", "starts_in_inch", d.read.starts_in_inch);
  fields.flag("reading", "block_delete_on", d.read.block_delete);
  fields.codes("reading", "carried_g", d.read.carried_g, 10, 0, 999.9);
  fields.codes("reading", "carried_m", d.read.carried_m, 1, 0, 999);
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
  if (d.read.count_without_point && !d.always_point)
    refuse("reading", "count_without_point",
           "a length without a point would be read as a count of increments",
           "set [numbers] always_point = true");
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
  if (d.path_tolerance && !d.path_control)
    refuse("words", "path_tolerance", "G64 P without G64", "set path_control = true");
}

} // namespace

void read_dialect(toml::table const& table, Dialect& d, ProfileErrors& errors) {
  ProfileFields fields;
  int max_line_length = static_cast<int>(d.max_line_length);
  if (!d.work_offsets) d.work_offset_count = 0;
  add_numbers(fields, d);
  add_blocks(fields, d, max_line_length);
  add_words(fields, d);
  add_arcs(fields, d);
  add_reading(fields, d);

  auto const before = errors.all.size();
  fields.read(table, errors);
  d.max_line_length = static_cast<std::size_t>(max_line_length);
  d.cycles = !d.cycle_codes.empty();
  d.work_offsets = d.work_offset_count > 0;
  // The control means the same by G4 P when it reads its program as when it was written for it.
  d.read.dwell_in_milliseconds = d.dwell_in_milliseconds;
  if (errors.all.size() == before) check_contradictions(fields, d, errors);
}

double Dialect::resolution(motion::Units units) const {
  return units == motion::Units::mm ? std::pow(10.0, -decimals_mm) : 25.4 * std::pow(10.0, -decimals_inch);
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
