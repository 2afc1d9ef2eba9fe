#include "dialect/profile_fields.hpp"

#include <fmt/format.h>

namespace restep::dialect {
namespace {

using motion::Machine;
using motion::RetractPolicy;
using motion::ToolChangePolicy;

void add_limits(ProfileFields& fields, Machine& m) {
  constexpr double metres = 100'000; // mm: no axis is longer
  constexpr double fastest = 1e6;    // mm/min
  fields.axes(
      "travel", "span", [&m](geometry::Vec3 v) { m.travel = v; }, 0, metres);
  fields.axes(
      "travel", "least", [&m](geometry::Vec3 v) { m.travel_min = v; }, -metres, metres);
  fields.axes(
      "travel", "most", [&m](geometry::Vec3 v) { m.travel_max = v; }, -metres, metres);
  fields.axes(
      "feeds", "cutting", [&m](geometry::Vec3 v) { m.max_feed = v; }, 0, fastest);
  fields.number("feeds", "plunge", m.max_plunge, 0, fastest);
  fields.axes(
      "feeds", "rapid", [&m](geometry::Vec3 v) { m.max_rapid = v; }, 0, fastest);
  fields.flag("feeds", "straight_rapids", m.straight_rapids);
  fields.axes(
      "feeds", "acceleration", [&m](geometry::Vec3 v) { m.acceleration = v; }, 0, fastest);
  fields.number("feeds", "corner_tolerance", m.corner_tolerance, 0.0001, 10);
  fields.number("feeds", "blocks_per_second", m.blocks_per_second, 0, 1e6);
  fields.range("spindle", "speed", m.spindle_min, m.spindle_max, 0, 1e6);
  fields.flag("spindle", "counter_clockwise", m.spindle_counter_clockwise);
  fields.number("spindle", "start_seconds", m.spindle_start_seconds, 0, 600);
  fields.flag("spindle", "dwell", m.spindle_dwell);
  fields.flag("coolant", "mist", m.mist);
  fields.flag("coolant", "flood", m.flood);
}

void add_habits(ProfileFields& fields, Machine& m) {
  fields.number("tools", "max_diameter", m.max_tool_diameter, 0, 1000);
  fields.choice<ToolChangePolicy>(
      "tools", "change", m.tool_change,
      {{"automatic", ToolChangePolicy::automatic}, {"by_hand", ToolChangePolicy::by_hand}});
  fields.number("tools", "change_seconds", m.tool_change_seconds, 0, 3600);
  fields.choice<motion::TouchOffPolicy>(
      "touch_off", "how", m.touch_off,
      {{"by_operator", motion::TouchOffPolicy::by_operator}, {"plate", motion::TouchOffPolicy::plate}});
  fields.number("touch_off", "plate", m.plate.thickness, 0.1, 200);
  fields.number("touch_off", "face", m.plate.face, -1000, 1000);
  fields.number("touch_off", "search", m.plate.search, 1, 500);
  fields.number("touch_off", "back_off", m.plate.back_off, 0.5, 20);
  fields.number("touch_off", "feed", m.plate.feed, 1, 2000);
  fields.number("touch_off", "slow_feed", m.plate.slow_feed, 1, 500);
  fields.choice<bool>("touch_off", "sets", m.plate.stores, {{"G92", false}, {"G10", true}});
  fields.choice<RetractPolicy>("retract", "how", m.retract,
                               {{"machine_top", RetractPolicy::machine_top},
                                {"home", RetractPolicy::home},
                                {"clearance", RetractPolicy::clearance}});
  fields.number("retract", "machine_height", m.retract_height, -100'000, 100'000);
  fields.number("retract", "rapid_clearance", m.rapid_clearance, 0, 10'000);
  fields.number("retract", "clearance", m.clearance, 0, 10'000);
}

void check_travel(ProfileFields const& fields, Machine& m, ProfileErrors& errors) {
  if (m.travel_min.has_value() != m.travel_max.has_value()) {
    errors.add(fields.where("travel", m.travel_min ? "least" : "most"),
               "'least' and 'most' belong together: one of them is missing",
               "give both ends of the travel in machine coordinates, or only 'span'");
    return;
  }
  if (!m.travel_min) return;
  constexpr char const* names[] = {"X", "Y", "Z"};
  for (int axis = 0; axis < 3; ++axis) {
    double const span = (*m.travel_max)[axis] - (*m.travel_min)[axis];
    if (span <= 0) {
      errors.add(fields.where("travel", "most"),
                 fmt::format("the travel of {} ends at {} before it begins at {}", names[axis],
                             (*m.travel_max)[axis], (*m.travel_min)[axis]));
    } else if (m.travel[axis] == 0) {
      m.travel[axis] = span;
    } else if (span < m.travel[axis] - 1e-6 || span > m.travel[axis] + 1e-6) {
      errors.add(fields.where("travel", "span"),
                 fmt::format("'span' says {} travels {}, 'least' and 'most' say {}", names[axis],
                             m.travel[axis], span),
                 "leave 'span' out: it follows from the two ends");
    }
  }
}

/// Limits that contradict each other; 0 is no limit.
void check_feeds(ProfileFields const& fields, Machine const& m, ProfileErrors& errors) {
  for (int axis = 0; axis < 3; ++axis) {
    if (m.max_rapid[axis] > 0 && m.max_feed[axis] > m.max_rapid[axis])
      errors.add(fields.where("feeds", "cutting"),
                 fmt::format("{} cuts at up to {}, faster than its rapids, {}", "XYZ"[axis], m.max_feed[axis],
                             m.max_rapid[axis]),
                 "no axis is faster than its rapid: look up both");
  }
  if (m.max_feed.z > 0 && m.max_plunge > m.max_feed.z)
    errors.add(fields.where("feeds", "plunge"),
               fmt::format("a plunge at up to {} is faster than Z may cut, {}", m.max_plunge, m.max_feed.z),
               "give the lower of the two, or leave 'plunge' out");
  if (fields.given("spindle", "dwell") && m.spindle_dwell && m.spindle_start_seconds == 0)
    errors.add(fields.where("spindle", "dwell"), "a wait for the spindle, but not for how long",
               "give 'start_seconds', or set dwell = false");
}

/// Touching off on a plate: all of it must be said, since a guess drives the tool into the table.
void check_touch_off(ProfileFields const& fields, Machine const& m, Dialect const& dialect,
                     ProfileErrors& errors) {
  if (m.touch_off != motion::TouchOffPolicy::plate) return;
  auto const how = fields.where("touch_off", "how");
  if (m.tool_change != ToolChangePolicy::by_hand)
    errors.add(how, "touching off on a plate is for tools that are changed by hand",
               "use change = \"by_hand\" in [tools]");
  struct Needed {
    char const* key;
    double value;
  };
  for (Needed const& needed : {Needed{"plate", m.plate.thickness}, Needed{"search", m.plate.search},
                               Needed{"feed", m.plate.feed}, Needed{"slow_feed", m.plate.slow_feed}})
    if (needed.value <= 0)
      errors.add(how, fmt::format("touching off on a plate without '{}'", needed.key),
                 "give plate, search, feed and slow_feed in [touch_off]");
  if (m.plate.slow_feed > m.plate.feed)
    errors.add(fields.where("touch_off", "slow_feed"), "the second probing is faster than the first",
               "the second one counts: make it slower");
  if (m.max_plunge > 0 && m.plate.feed > m.max_plunge)
    errors.add(
        fields.where("touch_off", "feed"),
        fmt::format("the probing feed {:g} is above the plunge feed {:g}", m.plate.feed, m.max_plunge));
  if (!dialect.probe)
    errors.add(how, fmt::format("touching off on a plate needs G38.2, which '{}' has not", m.dialect),
               "use how = \"by_operator\"");
  if (m.plate.stores ? !dialect.set_origin_here : !dialect.coordinate_shift)
    errors.add(fields.where("touch_off", "sets"), fmt::format("touching off needs {}, which '{}' has not",
                                                              m.plate.stores ? "G10 L20" : "G92", m.dialect));
  if (!dialect.comments)
    errors.add(
        how, fmt::format("touching off needs messages to the operator, and '{}' has no comments", m.dialect),
        "use how = \"by_operator\"");
}

/// A machine whose habits need words that its control has not.
void check_dialect(ProfileFields const& fields, Machine const& m, ProfileErrors& errors) {
  if (m.dialect.empty()) {
    errors.add({1, 1}, "'dialect' is missing: which blocks does the control speak?",
               "for example dialect = \"rs274ngc\"");
    return;
  }
  auto const dialect = load_dialect(m.dialect);
  if (!dialect) {
    errors.add(
        fields.where("", "dialect"),
        fmt::format("the machine's dialect '{}' cannot be used: {}", m.dialect, dialect.error().message),
        dialect.error().hint);
    return;
  }
  if (m.retract == RetractPolicy::machine_top && !dialect->machine_coordinates)
    errors.add(fields.where("retract", "how"),
               fmt::format("a retract to the machine's top needs G53, which '{}' has not", m.dialect),
               "use how = \"clearance\"");
  if (m.retract == RetractPolicy::home && !dialect->home)
    errors.add(fields.where("retract", "how"),
               fmt::format("a retract to the home position needs G28, which '{}' has not", m.dialect),
               "use how = \"clearance\"");
  if (m.tool_change == ToolChangePolicy::automatic && !dialect->tool_change)
    errors.add(fields.where("tools", "change"),
               fmt::format("an automatic tool change needs M6, which '{}' has not", m.dialect),
               "use change = \"by_hand\"");
  check_touch_off(fields, m, *dialect, errors);
}

} // namespace

void read_machine(toml::table const& table, Machine& m, ProfileErrors& errors) {
  ProfileFields fields;
  fields.text("", "dialect", m.dialect);
  add_limits(fields, m);
  add_habits(fields, m);

  auto const before = errors.all.size();
  fields.read(table, errors);
  if (errors.all.size() != before) return;
  check_travel(fields, m, errors);
  check_feeds(fields, m, errors);
  check_dialect(fields, m, errors);
  if (m.retract == RetractPolicy::machine_top && m.travel_max &&
      (m.retract_height > m.travel_max->z || m.retract_height < m.travel_min->z))
    errors.add(fields.where("retract", "machine_height"),
               fmt::format("the retract height {} lies outside the travel of Z, {} to {}", m.retract_height,
                           m.travel_min->z, m.travel_max->z));
}

} // namespace restep::dialect
