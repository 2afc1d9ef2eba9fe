#include "interpret/codes.hpp"

#include <initializer_list>

namespace restep::interpret {
namespace {

struct RefusedCode {
  int number;
  Refusal refusal;
};

constexpr std::string_view post_plain =
    "post the program again with this feature switched off, so that every position is written out";

constexpr RefusedCode refused_g[] = {
    {50, {"spline-move", "a spline move (G5)", "its path is not lines and arcs", post_plain}},
    {51,
     {"spline-move", "a spline move or a control's smoothing mode (G5.1)",
      "controls disagree on what it does",
      "when it is a smoothing mode that does not move the axes, list it as carried in the dialect"}},
    {52, {"spline-move", "a spline move (G5.2)", "its path is not lines and arcs", post_plain}},
    {53, {"spline-move", "the end of a spline (G5.3)", "its path is not lines and arcs", post_plain}},
    {70,
     {"lathe-code", "diameter programming (G7)", "it belongs to turning",
      "check that this is a milling program"}},
    {310,
     {"skip-move", "a skip move (G31)", "nobody knows where it ends",
      "list it as carried in the dialect if the position is stated again afterwards"}},
    {411,
     {"dynamic-compensation", "cutter compensation by a diameter in D (G41.1)",
      "controls use the code for different things",
      "use G41 with a tool table entry, or post the tool-centre path"}},
    {421,
     {"dynamic-compensation", "cutter compensation by a diameter in D (G42.1)",
      "controls use the code for different things",
      "use G42 with a tool table entry, or post the tool-centre path"}},
    {431,
     {"dynamic-length-offset", "a tool length offset given in the program (G43.1)",
      "the heights that follow depend on it", "use G43 with H"}},
    {434,
     {"tool-centre-point", "tool centre point control (G43.4)", "the path depends on the rotary axes",
      "post the pass as a three-axis program"}},
    {440,
     {"negative-length-offset", "a negative tool length offset (G44)",
      "the sign of the offset table would decide between air and a crash", "use G43 with H"}},
    {660,
     {"macro-call", "a modal macro call (G66)", "every block that follows would call another program",
      "post the program with the moves written out"}},
    {682,
     {"rotation", "a tilted work plane (G68.2)", "every position that follows would be turned", post_plain}},
    {960,
     {"constant-surface-speed", "constant surface speed (G96)", "it belongs to turning",
      "give the speed in rpm (G97)"}},
};

constexpr RefusedCode refused_m[] = {
    {19,
     {"oriented-stop", "an oriented spindle stop (M19)", "not every machine has it",
      "when the machine has it, list it as carried in the dialect"}},
    {29,
     {"rigid-tapping", "rigid tapping (M29)", "not every machine has it",
      "when the machine has it, list it as carried in the dialect"}},
};

} // namespace

CodeTable::CodeTable(bool iso_units, std::vector<int> const& carried_g, std::vector<int> const& carried_m) {
  auto const put = [this](Group group, std::initializer_list<int> codes) {
    for (int const code : codes)
      g_[static_cast<std::size_t>(code)] = group;
  };
  put(Group::motion,
      {0, 10, 20, 30, 382, 383, 384, 385, 730, 740, 760, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890});
  put(Group::non_modal, {40, 100, 280, 300, 520, 530, 650, 920, 921, 922, 923});
  put(Group::plane, {170, 180, 190});
  put(Group::units, {200, 210});
  if (iso_units) put(Group::units, {700, 710});
  put(Group::distance, {900, 910});
  put(Group::arc_distance, {901, 911});
  put(Group::feed_mode, {930, 940, 950});
  put(Group::compensation, {400, 410, 420});
  put(Group::length_offset, {430, 490});
  put(Group::system, {540, 541, 550, 560, 570, 580, 590, 591, 592, 593});
  put(Group::path, {610, 611, 640});
  put(Group::return_level, {980, 990});
  put(Group::frame, {500, 501, 510, 511, 680, 690});
  put(Group::polar, {150, 160});
  put(Group::idle, {670, 970});
  for (int const code : carried_g)
    if (g(code) == Group::unknown && code >= 0 && code < static_cast<int>(g_.size()))
      g_[static_cast<std::size_t>(code)] = Group::carried;

  auto const put_m = [this](MGroup group, std::initializer_list<int> codes) {
    for (int const code : codes)
      m_[static_cast<std::size_t>(code)] = group;
  };
  put_m(MGroup::stop, {0, 1, 2, 30, 60, 97, 98, 99});
  put_m(MGroup::tool_change, {6});
  put_m(MGroup::spindle, {3, 4, 5});
  put_m(MGroup::coolant, {7, 8, 9});
  put_m(MGroup::overrides, {48, 49});
  for (int const code : carried_m)
    if (m(code) == MGroup::unknown && code >= 0 && code < static_cast<int>(m_.size()))
      m_[static_cast<std::size_t>(code)] = MGroup::carried;
}

Refusal refusal_of_g(std::int64_t tenths) {
  for (auto const& known : refused_g)
    if (known.number == tenths) return known.refusal;
  return {"unknown-g-code", "", "whether it moves the machine is not known",
          "leave it out, or list it as carried in the dialect when it does not move the axes"};
}

Refusal refusal_of_m(std::int64_t code) {
  for (auto const& known : refused_m)
    if (known.number == code) return known.refusal;
  return {"unknown-m-code", "", "what it does on the machine is not known",
          "leave it out, or list it as carried in the dialect when the target machine has it too"};
}

std::string_view name_of(Group group) {
  switch (group) {
  case Group::non_modal: return "codes for one block only (G4, G10, G28, G30, G52, G53, G65, G92)";
  case Group::motion: return "motion codes (G0 to G3, probing, cycles)";
  case Group::plane: return "planes (G17, G18, G19)";
  case Group::units: return "units (G20, G21)";
  case Group::distance: return "distance modes (G90, G91)";
  case Group::arc_distance: return "arc distance modes (G90.1, G91.1)";
  case Group::feed_mode: return "feed modes (G93, G94, G95)";
  case Group::compensation: return "cutter compensation codes (G40, G41, G42)";
  case Group::length_offset: return "tool length offset codes (G43, G49)";
  case Group::system: return "work offsets (G54 to G59.3, G54.1)";
  case Group::path: return "path modes (G61, G61.1, G64)";
  case Group::return_level: return "cycle return levels (G98, G99)";
  case Group::frame: return "coordinate changes (G50, G50.1, G51, G51.1, G68, G69)";
  case Group::polar: return "polar coordinate codes (G15, G16)";
  case Group::idle:
  case Group::carried:
  case Group::unknown: break;
  }
  return "codes";
}

std::string_view name_of(MGroup group) {
  switch (group) {
  case MGroup::stop: return "stops and calls (M0, M1, M2, M30, M60, M97, M98, M99)";
  case MGroup::tool_change: return "tool changes (M6)";
  case MGroup::spindle: return "spindle codes (M3, M4, M5)";
  case MGroup::coolant: return "coolant codes (M7, M8, M9)";
  case MGroup::overrides: return "override codes (M48, M49)";
  case MGroup::carried:
  case MGroup::unknown: break;
  }
  return "codes";
}

} // namespace restep::interpret
