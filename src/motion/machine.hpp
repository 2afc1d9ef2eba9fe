#pragma once

#include "geometry/vec.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace restep::motion {

/// How a retract is made before the first move, before tool changes and at the end.
enum class RetractPolicy : std::uint8_t {
  machine_top, ///< G53 G0 Z<retract_height in machine coordinates>
  home,        ///< G28 in Z alone, first
  clearance,   ///< rapid to the clearance height in work coordinates
};
enum class ToolChangePolicy : std::uint8_t {
  automatic, ///< T and M6
  by_hand,   ///< spindle and coolant off, retract, message, stop
};

/// How a tool's height is found after it was changed by hand.
enum class TouchOffPolicy : std::uint8_t {
  by_operator, ///< however the shop does it, while the program waits
  plate,       ///< the program probes down to a contact plate
};

/// A contact plate of known thickness and how it is probed. Lengths mm, feeds mm/min.
struct ContactPlate {
  double thickness = 0;
  double face = 0;      ///< Z, in work coordinates, of the face that the plate lies on
  double search = 0;    ///< the first probing goes down no further than this
  double back_off = 2;  ///< up between the two, and down again no further than the same below the contact
  double feed = 0;      ///< of the first probing
  double slow_feed = 0; ///< of the second, which counts
  bool stores = false;  ///< the offset is stored by G10 L20 in the active system; else shifted by G92
};

/// The limits of one machine. Lengths mm, feeds mm/min, accelerations mm/s^2; 0 means "no limit known".
struct Machine {
  std::string name;
  std::string title;                                    ///< one line for people
  std::string dialect;                                  ///< the dialect its control speaks
  geometry::Vec3 travel{};                              ///< span of each axis
  std::optional<geometry::Vec3> travel_min, travel_max; ///< machine coordinates, when known
  geometry::Vec3 max_feed{};                            ///< each axis's own component while cutting
  double max_plunge = 0;                                ///< the downward component while cutting
  geometry::Vec3 max_rapid{};
  geometry::Vec3 acceleration{};
  bool straight_rapids = false; ///< a rapid keeps to the straight line; else each axis runs at its own speed
  double corner_tolerance = 0.01; ///< the bound used for corner speeds in the time model
  double blocks_per_second = 0;
  double spindle_min = 0, spindle_max = 0; ///< rpm
  bool spindle_counter_clockwise = true;   ///< M4 exists
  double spindle_start_seconds = 0;        ///< time to reach speed
  bool spindle_dwell = false;              ///< the program waits until the spindle is at speed
  bool mist = true, flood = true;
  double max_tool_diameter = 0;
  RetractPolicy retract = RetractPolicy::clearance;
  double retract_height = 0;  ///< machine coordinate for RetractPolicy::machine_top
  double rapid_clearance = 1; ///< sideways rapids this far above the highest cut (or the stock) are safe, mm
  double clearance = 5;       ///< from there to the height of retracts in work coordinates, mm
  ToolChangePolicy tool_change = ToolChangePolicy::automatic;
  double tool_change_seconds = 0;
  TouchOffPolicy touch_off = TouchOffPolicy::by_operator;
  ContactPlate plate;
};

} // namespace restep::motion
