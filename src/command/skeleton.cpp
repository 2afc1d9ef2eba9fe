#include "command/skeleton.hpp"

namespace restep::command {

namespace {

constexpr std::string_view dialect_skeleton =
    R"(# How a control wants its blocks written. Save it as my-control.toml, take the "#" from the keys in which your control
# differs, and run: restep profiles check my-control.toml
# What stands here are the commonest differences. Every key there is stands in dialects/rs274ngc.toml with what it means;
# "restep profiles show rs274ngc" prints it. A key that is left out has the base's value.

profile = "dialect"
base = "rs274ngc"              # the profile that is nearest to your control; "restep profiles list" tells them
title = "my control"

# ---- numbers: the chapter on the input format, least input increment
[numbers]
# decimals_mm = 4              # digits behind the point that it takes in millimetres
# decimals_inch = 5            # the same in inches
# decimals_feed = 3            # digits of F
# always_point = false         # true where "X10" would mean ten increments and "X10." ten millimetres

# ---- blocks: the chapter on program structure
[blocks]
# line_numbers = false         # true where it wants N words
# max_line_length = 254        # the longest block, in characters; small controls often take 80
# line_end = "lf"              # "crlf" where the program goes there through a serial line or from a Windows disk
# percent = false              # true where a program begins and ends with "%"
# program_numbers = false      # true where it has O words
# comments = true              # false where it takes none
# comment_style = "parentheses" # or "semicolon"

# ---- words: the tables of G and M codes; switch off what is not in them
[words]
# cycles = [81, 82, 83, 84, 85, 86, 87, 88, 89] # its drilling and boring cycles; [] for none
# length_offset = true         # G43 H
# work_offsets = 9             # 6: G54 to G59, 9: to G59.3, 0: none
# further_work_offsets = 0     # 48 where it has G54.1 P1 to P48
# machine_coordinates = true   # G53
# home = true                  # G28
# tool_change = true           # M6; false where tools are changed by hand
# compensation = true          # G41, G42

# ---- arcs: the pages on G2 and G3
[arcs]
# xy = true                    # what it cannot do is written in short lines instead
# zx = true
# yz = true
# helical = true               # Z may move during an arc
# full_circles = true          # an arc may end where it began
# centre_absolute = false      # true where I J K are coordinates and not distances from the start

# ---- reading: what its programs mean
[reading]
# starts_in_inch = false       # the units before the first G20 or G21, often a parameter
# carried_g = []               # G codes of its own that move nothing, such as [5.1]: they pass through
# carried_m = []               # M codes of the same kind
)";

constexpr std::string_view machine_skeleton =
    R"(# What a machine can do. Save it as my-mill.toml, take the "#" from the lines whose figures you know, put yours in, and
# run: restep profiles check my-mill.toml
# The figures stand in the technical data at the front or the back of the manual. A key that is left out, or 0, means "no
# limit known": nothing is limited by it. Millimetres, mm/min, mm/s^2.

profile = "machine"
title = "my mill"
dialect = "rs274ngc"           # the dialect its control speaks, a name or a file: "restep profiles list"

[travel]
# span = [500, 400, 400]       # X, Y, Z: technical data, "travel" or "stroke"
# least = [0, 0, -400]         # instead of span: both ends in machine coordinates, from the soft limits of the control;
# most = [500, 400, 0]         # then a program can be judged against where the part stands

[feeds]
# cutting = [5000, 5000, 3000] # technical data, "cutting feed": the most of each axis
# plunge = 1000                # what you trust your cutters with, downward
# rapid = [10000, 10000, 8000] # technical data, "rapid traverse"
# acceleration = [500, 500, 400] # parameters of the control; without it times are too short
# corner_tolerance = 0.01      # how far corners are rounded at speed; for times alone
# blocks_per_second = 500      # the control's data sheet: block processing time of 2 ms is 500; for times alone

[spindle]
# speed = [60, 8000]           # least and most, rpm: technical data
# counter_clockwise = true     # M4 is there
# start_seconds = 2            # from standstill to the speeds you use: a watch tells
# dwell = false                # true: wait that long before each cut, where the control does not wait by itself

[coolant]
# mist = false                 # M7 does something
# flood = true                 # M8 does something

[tools]
# max_diameter = 63            # what fits the holder and its neighbours in the magazine
# change = "automatic"         # or "by_hand"
# change_seconds = 10          # technical data, "chip to chip"

[retract]
# how = "machine_top"          # "machine_top" goes up by G53, "home" by G28, "clearance" to a height above the work
# machine_height = 0           # for "machine_top": Z in machine coordinates, 0 at the top on most machines
# clearance = 25               # how far above the highest cut a retract goes
# rapid_clearance = 1          # sideways rapids at least this far above the highest cut are left as they are
)";

constexpr std::string_view tools_skeleton =
    R"(# The tools in your magazine. Save it as my-tools.toml, make one [[tool]] of each, and run:
# restep profiles check my-tools.toml
# number and shape must be known; a key that is left out means "not known". Millimetres, m/min.

profile = "tools"
title = "my tools"
# base = "workshop"            # another table whose tools are here too; one of the same number is replaced by yours

[[tool]]
number = 1                     # its T word
shape = "flat 6"               # "flat 6", "ball 4", "bull 6 r0.5", "drill 3.3": diameter, then corner radius
# name = "end mill"            # for people
# taper = 0                    # half angle of the side, degrees; 0 for a cylinder
# flutes = 4                   # teeth: the catalogue
# flute_length = 13            # the catalogue
# overhang = 20                # how far it stands out of the holder: a ruler
# cutting_speed = [60, 140]    # least and most in your material: the catalogue
# chip_load = [0.01, 0.035]    # mm per tooth, least and most: the catalogue
# max_stepdown = 6
# max_stepover = 3
)";

} // namespace

std::string_view profile_skeleton(dialect::ProfileKind kind) {
  switch (kind) {
  case dialect::ProfileKind::dialect: return dialect_skeleton;
  case dialect::ProfileKind::machine: return machine_skeleton;
  case dialect::ProfileKind::tools: break;
  }
  return tools_skeleton;
}

} // namespace restep::command
