#pragma once

#include <tl/expected.hpp>

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace restep::cutter {

enum class ToolKind : std::uint8_t { flat, ball, bull, drill, other };

/// "flat", "ball", "bull", "drill" or "other".
std::string_view name_of(ToolKind kind);

/// A tool as the tool table tells it. Lengths in millimetres, angles in degrees; 0 where nothing was said.
struct Tool {
  int number = 0;
  std::string name;
  ToolKind kind = ToolKind::flat;
  double diameter = 0;      ///< of the cylinder; of the tip circle's widest place for tapered tools
  double corner_radius = 0; ///< 0 flat, diameter / 2 ball, between for bull
  double taper = 0;         ///< half angle of the side from the axis, degrees; 0 for a cylinder
  int flutes = 0;
  double flute_length = 0;
  double overhang = 0;
  double length = 0;                                   ///< from the spindle's gauge line to the tip
  double cutting_speed_min = 0, cutting_speed_max = 0; ///< m/min
  double chip_load_min = 0, chip_load_max = 0;         ///< mm per tooth
  double max_stepdown = 0, max_stepover = 0;

  double radius() const { return diameter / 2; }
  /// Radius of the flat bottom, a = Rt - r.
  double flat_radius() const { return radius() - corner_radius; }
  /// True for the shapes whose cusps are known: flat, ball, bull with consistent diameter and corner radius.
  /// Ball and bull may have a tapered side (cutter/tapered.hpp).
  bool can_finish() const;
};

/// Reads a tool in words: "flat 6", "ball 3", "bull 3 r0.3", "drill 2.5"; the first number is the diameter in
/// mm, or with a unit ("bull 0.125in r0.01in"). Case and blanks do not matter; a bull whose corner radius is
/// half its diameter is a ball. The error says what was expected.
tl::expected<Tool, std::string> parse_tool(std::string_view text);

/// "bull 3 r0.3": what parse_tool reads, in mm with up to six decimals.
std::string describe(Tool const& tool);

/// The tools of a job by number.
class ToolTable {
public:
  /// Adds a tool; a later one of the same number replaces the earlier one.
  void add(Tool tool);
  Tool const* find(int number) const;
  std::vector<Tool> const& all() const { return tools_; }

private:
  std::vector<Tool> tools_;
};

} // namespace restep::cutter
