#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/pass_report.hpp"
#include "motion/control_word.hpp"
#include "motion/edit.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"
#include "motion/survey.hpp"
#include "text/finding.hpp"

#include <array>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

/// The stages of the rewrite. A stage takes a stream of steps and gives a stream of steps; it knows no text
/// and no dialect. A step it changes gets `touched`, or `other_feed` where that is all it changes; a
/// step it adds gets `generated` and the place of the step that caused it.
namespace restep::transform {

/// What the target control's digits can say.
struct Resolution {
  double length = 0.001; ///< mm per last digit of X Y Z
  double arc = 0.001;    ///< mm per last digit of an arc's ends and centre, the coarser
  double feed = 0.001;   ///< per last digit of F, in the units the program is written in
};

/// What the control can do, as far as a stage must know to stay within its words.
struct Abilities {
  bool machine_coordinates = true;            ///< G53
  bool home = true;                           ///< G28 in the axes that are named, and in no others
  bool home_all_axes = true;                  ///< G28 in all axes at once
  bool tool_change = true;                    ///< M6
  bool length_offset = true;                  ///< G43, and the program may use it on this machine
  bool touch_off_by_plate = false;            ///< the program measures each tool that is changed by hand
  std::array<bool, 3> arcs{true, true, true}; ///< G2 and G3 in XY, ZX and YZ
  bool helical_arcs = true;
  std::uint8_t state_words = motion::state_word::all; ///< those of a state block that it knows
};

/// What single passes are to get instead of the common target. A pass is meant when all that is said of it is
/// true.
struct PassRule {
  std::vector<std::size_t> passes;             ///< numbers from 1; empty: any
  int tool = -1;                               ///< number; -1: any
  std::uint32_t first_line = 0, last_line = 0; ///< the pass lies within these lines; 0 and 0: anywhere
  bool keep = false;                           ///< leave it as it is
  std::optional<cutter::FinishTarget> finish;  ///< none: the common one
  cutter::StepLimits limits;                   ///< 0: the common one
  std::optional<bool> extend{};                ///< none: as the others
  std::string said_by{};                       ///< where it stands: "part.toml:26"
};

/// An axis-parallel block in work coordinates, mm.
struct Block {
  motion::Vec3 low, high;
};

/// How the part sits on the machine and what its tools are called there, as the job says.
struct PartSetting {
  std::optional<Block> stock;            ///< the blank, in the coordinates of the program
  std::map<int, motion::Vec3> offsets{}; ///< origins of work offsets, machine coordinates, mm
  std::map<int, int> tool_numbers{};     ///< the program's number to this machine's
  std::map<int, double> lengths{};       ///< by H: gauge line to tip, mm; win over those of the tool table
};

/// What the passes are to get.
struct PassTarget {
  std::optional<cutter::FinishTarget> finish;
  cutter::StepLimits limits;
  bool extend = false; ///< levels above the first one, up to the tangency of a round that begins there
  std::vector<std::size_t> only; ///< pass numbers (from 1) to re-step; empty: all
  std::vector<PassRule> rules;   ///< the last that means a pass wins
};

/// Everything the stages of one run share. Input first, then what they report into.
struct Context {
  motion::Machine const& machine;
  cutter::ToolTable const& tools;
  motion::Survey const& survey;
  Resolution resolution{};
  Abilities abilities{};
  PassTarget target{};
  PartSetting setting{};
  motion::ControlHabits habits{}; ///< without lines where the program is written in its dialect already
  std::string program_name{};     ///< the file's name without its folder
  /// By the line of an S word: the lower speed at which the machine's feeds still make a chip (ChipPlanner).
  std::map<std::uint32_t, double> planned_speeds{};

  text::Findings& findings;
  motion::Edits& edits;

  std::vector<finish::PassReport> passes{};
  struct Feeds {
    std::uint64_t clamped = 0;
    double lowest_ratio = 1;
  } feeds{};
  std::uint64_t retracts_inserted = 0;
  /// Why a re-stepped pass did not pass its proof; empty when all did. Nothing may be written then.
  std::string proof_failure{};

  /// How far arcs and lines that stand for many short lines may be from them, mm (fit-arcs, join-lines).
  double path_tolerance = 0.002;
  std::vector<std::string> skipped{}; ///< names of the stages that are left out

  /// Sees a pass's new steps before they are proven; for tests of what a failed proof leads to.
  std::function<void(std::vector<motion::Step>&)> before_proof{};

  /// Whether program-frame puts cautions and what is missing of a state block at the head. The caller says
  /// false when nothing else changes.
  bool add_cautions = true;

  /// Text of generated comments; a deque so that views into it stay valid.
  std::deque<std::string> texts{};
};

/// One row of the registry.
struct Stage {
  std::string_view name;    ///< kebab-case, as in --skip and in edits
  std::string_view summary; ///< for --help
  std::unique_ptr<motion::StepSource> (*make)(motion::StepSource& upstream, Context& context);
  bool on_request = false; ///< runs only when it is asked for (--with)
};

/// All stages in the order in which they run, and why in this order: registry.cpp. The only list.
std::span<Stage const> stages();

} // namespace restep::transform
