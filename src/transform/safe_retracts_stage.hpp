#pragma once

#include "motion/machine.hpp"
#include "motion/step.hpp"
#include "transform/block_stage.hpp"
#include "transform/route.hpp"
#include "transform/touch_off.hpp"
#include "transform/transform.hpp"

#include <cstdint>
#include <span>
#include <string_view>

namespace restep::transform {

/// The stage of make_safe_retracts: follows where the machine is and where the program believes it to be
/// (safe_retracts.cpp), and mends the program's moves accordingly (mended_moves.cpp).
class SafeRetracts final : public BlockStage {
public:
  SafeRetracts(motion::StepSource& upstream, Context& context);

private:
  static constexpr std::string_view stage_name = "safe-retracts";
  static constexpr std::uint8_t x_and_y = 3, z_alone = 4; ///< of motion::Home::axes

  Context& context_;
  Clearance const clearance_;
  motion::RetractPolicy policy_;
  Stand stand_;                                    ///< where the machine is
  motion::Vec3 source_ = motion::unknown_position; ///< where the program believes it to be
  bool high_ = false; ///< the last Z move ended high up, in the coordinates in force then
  double told_ =
      motion::unknown; ///< the Z that the control believes in while the tool's real height is not known
  bool lost_[2] = {false, false}; ///< X, Y: an operator may have moved them since the program did
  bool displaced_ = false;        ///< a retract of ours moved Z and the program has not moved it since
  bool compensated_ = false;      ///< G41 or G42
  bool by_plate_;                 ///< tools are measured by touch-offs in the program
  bool measured_ = false;         ///< the tool stands where a touch-off left it, whatever the program knows
  bool length_in_force_;          ///< Z is where the tip is: no tool change or G49 since the last G43
  std::uint32_t length_missed_at_ = 0; ///< the line of the last retract that no length offset allowed
  bool moved_ = false;
  bool in_cycle_ = false; ///< the last motion was a cycle
  TouchOffPhase touching_off_;

  bool passes(motion::Stretch const& cuts) override;
  void handle(std::span<motion::Step> block) override;
  void take(motion::Step& step);

  // --- where the machine is and where the program believes it to be

  /// The program's next move starts at `from`. Only Z can differ from where the machine is.
  void sync(motion::Vec3 from);

  /// True when the program believes in a Z where the machine is not.
  bool lifted() const { return motion::is_known(source_.z) && !(stand_.at.z == source_.z); }

  /// Nothing moves, but the place may have another name now; the program's next move tells.
  void change_coordinates();

  /// The tool's height is not known any more, though the control still believes in it.
  void lose_height();

  /// `z`, or one digit more when the control believes to be at `z` already: a move to where it believes to be
  /// says nothing, and the tool would stay where the operator left it.
  double said_height(double z) const;

  bool uses_length() const { return context_.survey.length_offset && context_.abilities.length_offset; }

  void stand_at(motion::Vec3 to);

  /// The machine and the program are at `to` now (components that are not known stay).
  void arrive(motion::Vec3 to);

  // --- what is put in

  void insert_rapid(motion::Vec3 to, motion::Step const& cause);

  /// The machine's retract. False when it cannot be made here.
  bool retract(motion::Step const& cause, std::string_view why, double at_least = motion::unknown);

  /// A sideways rapid from a height that neither the program nor this stage knows.
  bool height_unknown() const { return !motion::is_known(stand_.at.z) && !stand_.top; }

  void warn_left_alone(motion::Step const& step, std::string_view reason);

  void record_route(motion::Step const& step, Route const& route, motion::Vec3 from, motion::Vec3 target);

  // --- the program's moves

  void rapid(motion::Step& step, motion::Motion& move);

  /// A low rapid that was shown to be clear is so from where it was looked at, and higher up.
  bool stays_clear(motion::Motion const& move, motion::Vec3 target) const;

  /// Writes the actual start and end into a move. `target` is where the machine goes; where a retract left it
  /// higher than the program believes, the program goes on believing.
  void finish_move(motion::Motion& move, motion::Vec3 target);

  /// Back over the place where the program believes to be, after an operator may have moved the axes.
  void reposition(motion::Step const& cause);

  void feed(motion::Step& step, motion::Motion& move);

  /// Back down to where the program believes Z to be. `cut` is the move that follows.
  void restore(motion::Step const& cause, motion::Motion const& cut);

  /// The cut's own feed, as its mode counts it, inside the limits of going straight down.
  double plunge_feed(motion::Motion const& cut, double depth) const;

  void cycle(motion::Step& step, motion::Cycle& hole);

  void approach(motion::Step& step, motion::Vec3 target);

  void home(motion::Step& step, motion::Home& move);

  void forget_axes(std::uint8_t axes);

  void machine_move(motion::Step& step, motion::MachineMove& move);

  void probe(motion::Step& step, motion::Probe& touch);

  /// A touch-off names the heights itself; the program goes on believing in its own. X and Y stay where the
  /// operator put them.
  void touch_off(motion::Step const& step);

  // --- what is not a move

  void before_tool_change(motion::Step const& cause);

  void at_stop(motion::Step const& step, motion::StopKind kind);

  void offset_change(motion::Step const& step, motion::OffsetChange const& change);
};

} // namespace restep::transform
