// Every switch of a dialect against every kind of step: what is written reads back as what was meant.

#include "tests/proof/rewritten.hpp"

#include <catch2/catch.hpp>

#include <functional>
#include <random>
#include <string>
#include <string_view>
#include <vector>

using namespace restep;
using dialect::ArcSplit;
using dialect::Dialect;

namespace {

struct Switch {
  std::string name;
  std::function<void(Dialect&)> turn;
};

/// How things are spelled: none of these may lose or refuse anything.
std::vector<Switch> const spellings{
    {"as it is", [](Dialect&) {}},
    {"2 decimals", [](Dialect& d) { d.decimals_mm = 2, d.decimals_inch = 3; }},
    {"6 decimals", [](Dialect& d) { d.decimals_mm = 6, d.decimals_inch = 6; }},
    {"own digits for the centre",
     [](Dialect& d) {
       for (char const letter : {'I', 'J', 'K'})
         d.letters_mm[letter] = 5, d.letters_inch[letter] = 6;
     }},
    {"own digits for Z", [](Dialect& d) { d.letters_mm['Z'] = 5, d.letters_inch['Z'] = 6; }},
    {"counts increments",
     [](Dialect& d) {
       d.decimals_mm = 3, d.decimals_inch = 4;
       d.count_increments = d.read.count_without_point = true;
     }},
    {"points always", [](Dialect& d) { d.always_point = true; }},
    {"trailing zeros", [](Dialect& d) { d.trailing_zeros = true; }},
    {"plus signs", [](Dialect& d) { d.plus_sign = true; }},
    {"leading zeros of codes", [](Dialect& d) { d.leading_zero_codes = true; }},
    {"no blanks", [](Dialect& d) { d.spaces = false; }},
    {"words in another order", [](Dialect& d) { d.word_order = "MHTSFPQRKJIZYXG"; }},
    {"codes again", [](Dialect& d) { d.repeat_codes = true; }},
    {"axes again", [](Dialect& d) { d.repeat_axes = true; }},
    {"incremental moves", [](Dialect& d) { d.incremental_moves = true; }},
    {"incremental moves, every axis", [](Dialect& d) { d.incremental_moves = d.repeat_axes = true; }},
    {"incremental moves with arcs by radius",
     [](Dialect& d) { d.incremental_moves = d.arc_radius_form = true; }},
    {"incremental moves with arcs in quadrants",
     [](Dialect& d) {
       d.incremental_moves = true;
       d.arc_split = ArcSplit::quadrants;
     }},
    {"feeds again", [](Dialect& d) { d.repeat_feed = true; }},
    {"line numbers", [](Dialect& d) { d.line_numbers = true; }},
    {"line numbers at tool changes",
     [](Dialect& d) {
       d.line_numbers = true;
       d.numbered = dialect::NumberedBlocks::tool_changes;
     }},
    {"short lines", [](Dialect& d) { d.max_line_length = 50; }},
    {"CRLF", [](Dialect& d) { d.line_end = "\r\n"; }},
    {"percent and a program number",
     [](Dialect& d) {
       d.percent = d.program_numbers = true;
       d.default_program_number = 7;
     }},
    {"remarks behind semicolons", [](Dialect& d) { d.comment_style = ';', d.messages = false; }},
    {"remarks in capitals", [](Dialect& d) { d.upper_case_comments = true, d.comment_characters = ".,:"; }},
    {"ISO unit codes", [](Dialect& d) { d.iso_unit_codes = d.read.iso_units = true; }},
    {"dwell in milliseconds",
     [](Dialect& d) { d.dwell_in_milliseconds = d.read.dwell_in_milliseconds = true; }},
    {"absolute centres", [](Dialect& d) { d.arc_centre_absolute = true; }},
    {"radius form", [](Dialect& d) { d.arc_radius_form = true; }},
    {"radius form with own digits",
     [](Dialect& d) {
       d.arc_radius_form = true;
       d.letters_mm['R'] = 6, d.letters_inch['R'] = 6;
     }},
    {"arcs in quadrants", [](Dialect& d) { d.arc_split = ArcSplit::quadrants; }},
    {"arcs in halves", [](Dialect& d) { d.arc_split = ArcSplit::halves; }},
    {"small arcs as chords", [](Dialect& d) { d.smallest_radius_mm = 2; }},
    {"large arcs as chords", [](Dialect& d) { d.largest_radius_mm = 20; }},
    {"short arcs as chords", [](Dialect& d) { d.shortest_arc_mm = 3; }},
};

/// What a control may lack and the writer says in other words.
std::vector<Switch> const lacks{
    {"no cycles", [](Dialect& d) { d.cycles = false; }},
    {"some cycles",
     [](Dialect& d) {
       d.cycle_codes = {810, 830};
     }},
    {"no XY arcs", [](Dialect& d) { d.arcs_xy = false; }},
    {"no arcs in other planes", [](Dialect& d) { d.arcs_zx = d.arcs_yz = false; }},
    {"no helical arcs", [](Dialect& d) { d.helical_arcs = false; }},
    {"no full circles", [](Dialect& d) { d.full_circles = false; }},
    {"no inches", [](Dialect& d) { d.inch = false; }},
    {"no millimetres", [](Dialect& d) { d.millimetre = false; }},
    {"no inverse time", [](Dialect& d) { d.inverse_time = false; }},
    {"no feed per revolution", [](Dialect& d) { d.feed_per_revolution = false; }},
    {"no block delete", [](Dialect& d) { d.block_delete = false; }},
};

struct Kind {
  std::string name;
  std::string blocks; ///< in the state that `head` leaves
};

constexpr std::string_view head = "G21 G90 G17\nT2 M6\nS1200 M3\nG0 X0 Y0 Z5\n";

std::vector<Kind> const kinds{
    {"rapids", "G0 X10.5\nY-3 Z2.125\n"},
    {"feed lines", "G1 X10.5 F120\nX10.5 Y-0.0625 Z4\nX-3 F80.5\n"},
    {"incremental moves", "G91 G1 X0.3333 F100\nX0.3333\nY-0.1\nG90\n"},
    {"quarter arcs", "G1 X10 F90\nG2 X15 Y-5 I0 J-5\nG3 X20 Y-10 I5 J0\n"},
    {"an arc that crosses quadrants",
     "G1 X10 F90\nG3 X7.0711 Y7.0711 I-10 J0\nX-7.0711 Y-7.0711 I-7.0711 J-7.0711\n"},
    {"an arc of more than a half", "G1 X10 F90\nG2 X0 Y10 I-10 J0\n"},
    {"a full circle", "G1 X10 F90\nG3 X10 Y0 I-8 J0\n"},
    {"a tiny arc", "G1 X10 F90\nG2 X10.05 Y-0.05 I0 J-0.05\nG1 X12\n"},
    {"a large arc", "G1 X10 F90\nG2 X20 Y0 I5 J-60\n"},
    {"an arc from a radius", "G1 X10 F90\nG2 X15 Y-5 R5\nX25 Y-5 R-5.5\n"},
    {"arcs in the other planes", "G18 G1 X10 F90\nG2 X15 Z0 I5 K0\nG19 G3 Y5 Z5 J0 K5\nG17 G1 X0\n"},
    {"a helix", "G1 X10 F90\nG2 X15 Y-5 Z2 I0 J-5\nG3 X15 Y-5 Z1 I-4 J0\n"},
    {"drilling cycles", "G99 G81 X3 Y4 Z-2 R1 F60\nX5\nG98 G82 X7 Z-3 R1 P0.25\nG83 X9 Z-4 R1 Q1.5\nG80\n"},
    {"boring cycles", "G85 X3 Y4 Z-2 R1 F60\nG86 X5 Z-3 R1 P0.5\nG89 X7 Z-2 R1 P0.125\nG80\n"},
    {"a dwell", "G4 P0.75\nG1 X1 F50\n"},
    {"spindle words", "S2500\nM4\nM5\nM3\n"},
    {"coolant", "M7\nM8\nM9\n"},
    {"a tool change", "M5\nT3\nM6\nS900 M3\nG0 X1\n"},
    {"stops", "M0\nG0 X1\nM1\nG0 X2\n"},
    {"tool length offsets", "G43 H2\nG0 Z3\nG49\n"},
    {"work offsets", "G54\nG0 X1 Y1 Z1\nG59\nG0 X1 Y1 Z1\n"},
    {"path control", "G61\nG1 X1 F50\nG64\nX2\n"},
    {"cutter compensation", "G41 D2\nG1 X5 Y5 F100\nX9\nG40\nG1 X20 Y20\n"},
    {"inverse time", "G93 G1 X10 F5\nX20 Y5 F2.5\nG94 G1 X0 F100\n"},
    {"feed per revolution", "G95 G1 X10 F0.05\nX20 F0.075\nG94 G1 X0 F100\n"},
    {"inches", "G20\nG1 X0.3937 F4\nG2 X0.5905 Y-0.1968 I0 J-0.1968\nG21\nG1 X1 F50\n"},
    {"shifts of the coordinates", "G92 X1 Y2\nG0 X5 Y5\nG92.1\nG0 X1 Y1\n"},
    {"a way home", "G91 G28 Z0\nG90\nG0 X1 Y1 Z9\n"},
    {"machine coordinates", "G53 G0 Z-1\nG0 X1 Y1 Z9\n"},
    {"remarks", "(a remark: plain, (no)\nG0 X1 (beside)\n"},
    {"a message", "(MSG, turn the part)\nM0\n"},
    {"override locks", "M49\nG1 X1 F50\nM48\n"},
    {"blocks that may be skipped", "/G0 X1\nG0 X2 Y2 Z2\n"},
    {"blocks that several switches skip", "/2 S900\n/2 M3\n/3 G0 X1\n/G0 X2 Y2 Z2\nG0 X3 Y3 Z3\n"},
};

void check(Kind const& kind, Dialect const& to, std::string const& name) {
  Dialect from;
  from.name = "from";
  from.feed_per_revolution = true;
  auto const result = proof::rewritten(std::string(head) + kind.blocks + "M5\nM30\n", from, to);
  INFO(kind.name << ", " << name << ":\n" << result.text);
  CHECK(result.errors == "");
  CHECK(result.disagreement == "");
}

Dialect everything() {
  Dialect d;
  d.name = "to";
  d.feed_per_revolution = d.path_tolerance = true;
  return d;
}

} // namespace

TEST_CASE("every kind of step in every spelling reads back as it was meant", "[feature-matrix]") {
  for (auto const& spelling : spellings) {
    Dialect to = everything();
    spelling.turn(to);
    for (auto const& kind : kinds)
      check(kind, to, spelling.name);
  }
}

TEST_CASE("every kind of step reads back where the control lacks a word for it", "[feature-matrix]") {
  for (auto const& lack : lacks) {
    Dialect to = everything();
    lack.turn(to);
    for (auto const& kind : kinds)
      check(kind, to, lack.name);
  }
}

TEST_CASE("spellings do not disturb each other", "[feature-matrix]") {
  std::mt19937 random(20);
  for (int round = 0; round < 150; ++round) {
    Dialect to = everything();
    std::string names;
    for (int i = 0; i < 6; ++i) {
      auto const& spelling = spellings[random() % spellings.size()];
      // A count of increments is whole in every letter; a radius has no absolute centre.
      bool const digits = spelling.name.find("digits") != std::string::npos ||
                          spelling.name.find("decimals") != std::string::npos ||
                          spelling.name == "points always" || spelling.name == "trailing zeros";
      bool const centre = spelling.name == "absolute centres";
      if ((digits || centre) && random() % 2 == 0) continue;
      if (digits && to.count_increments) continue;
      if (spelling.name == "counts increments" &&
          (to.decimals_mm != 4 || to.letters_mm['Z'] >= 0 || to.letters_mm['I'] >= 0 ||
           to.letters_mm['R'] >= 0 || to.always_point || to.trailing_zeros))
        continue;
      if (centre && to.arc_radius_form) continue;
      if (spelling.name.starts_with("radius form") && to.arc_centre_absolute) continue;
      spelling.turn(to);
      names += spelling.name + "; ";
    }
    check(kinds[static_cast<std::size_t>(round) % kinds.size()], to, names);
    check(kinds[random() % kinds.size()], to, names);
  }
}
