#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace restep::finish {

using geometry::Vec2;
using geometry::Vec3;

/// The plan axes of a parallel pass: u along its lines, v across, u x v upwards.
struct RasterFrame {
  double angle = 0; ///< of u from X, radians, from 0 to below pi
  Vec2 u{1, 0}, v{0, 1};

  /// Quarter turns are exact.
  static RasterFrame turned(double angle);
  Vec2 own(Vec2 plan) const { return {dot(plan, u), dot(plan, v)}; }
  Vec2 plan(Vec2 own) const { return own.x * u + own.y * v; }
};

/// A part of a line that is cut without leaving its vertical plane: points in the order they are cut. Arcs in
/// the planes of a machine's axes (G18, G19) stand as points on the arc, within `arc_tolerance` of it.
struct RasterPiece {
  static constexpr double arc_tolerance = 5e-5; ///< mm

  std::vector<Vec3> points;
  std::vector<std::uint32_t> steps; ///< of each point but the first: its step in the operation
  std::size_t first_step() const { return steps.front(); }
  std::size_t last_step() const { return steps.back(); }
};

/// All that is cut in one vertical plane, in the order it is cut: several pieces where holes part it.
struct RasterLine {
  double v = 0;
  std::vector<RasterPiece> pieces;
};

/// Lines in parallel vertical planes that follow each other across the part.
struct RasterPass {
  RasterFrame frame;
  double tolerance = 0; ///< mm: plan points lie within this of their line
  std::vector<RasterLine> lines;
  std::size_t first_step() const { return lines.front().pieces.front().first_step(); }
  std::size_t last_step() const { return lines.back().pieces.back().last_step(); }
};

struct RasterLimits {
  double max_stepover = 3; ///< mm; the tool's diameter: beyond it lines are no neighbours
  std::size_t min_lines = 4;
  std::size_t longest_wait = 1 << 16; ///< motions without a new line, after which there is no pass
  std::size_t longest_link = 512;     ///< motions between two lines
};

/// Takes the lines of passes as they are recognised.
class RasterSink {
public:
  RasterSink() = default;
  RasterSink(RasterSink const&) = delete;
  RasterSink& operator=(RasterSink const&) = delete;
  virtual ~RasterSink() = default;
  /// The next line, whole. The frame may still turn by what the digits left open when the line was short.
  virtual void line(RasterFrame const& frame, RasterLine line) = 0;
  virtual void end(RasterFrame const& frame) = 0;
};

/// Finds parallel passes in a stream of motions. What is kept is bounded by a few lines.
///
/// A straight run in plan is what lies between two lines a tolerance apart; the directions that still explain
/// all its points narrow as it grows. Runs whose directions agree and that step across the part one way, each
/// no farther from the one before than a tool, are the lines of a pass; everything between them is links.
class RasterFinder {
public:
  RasterFinder(RasterSink& sink, RasterLimits const& limits)
      : sink_(sink)
      , limits_(limits) {}

  /// The next step of the program, by any number that the lines shall name it by. Anything but motions,
  /// remarks and layout ends the pass.
  void add(motion::Step const& step, std::uint32_t number);
  /// The same of one cut of a stretch, by its line.
  void add(motion::Stretch const& cuts, std::size_t i);
  /// Ends what is going on.
  void end();

  /// True while a pass may be in the making; false at the step that made the finder give up.
  bool goes_on() const {
    return !gave_up_ && (run_.points.size() > 1 || !pending_.empty() || !lines_.empty());
  }
  /// The number of the first step that may belong to the pass in the making; only while one may be.
  std::uint32_t first_number() const;
  /// For the passes to come.
  void set_max_stepover(double mm) { limits_.max_stepover = mm; }
  /// True once enough lines make it a pass.
  bool established() const { return established_; }

private:
  /// Directions that a run may have: `reference` + [low, high], radians.
  struct Directions {
    bool known = false;
    double reference = 0, low = 0, high = 0;
    double middle() const { return reference + (low + high) / 2; }
  };
  struct Run {
    std::vector<Vec3> points;
    std::vector<std::uint32_t> steps;
    Directions directions;
    Vec2 along{}; ///< unit vector of the middle direction
    double reach = 0;
  };

  void add(motion::Motion const& m);
  void add_line(Vec3 const& from, Vec3 const& to);
  bool extend(Vec3 const& to);
  bool narrow(Vec2 from_start, double reach);
  void start_run(Vec3 const& at);
  void close_run();
  void accept(Run run);
  void seed();
  bool fits(Run& run);
  void take(Run& run, double v, bool new_line);
  void finish_pass();
  void set_frame(Directions const& directions);
  void forget();
  void give_up();

  RasterSink& sink_;
  RasterLimits limits_;
  std::uint32_t number_ = 0;
  double tolerance_ = 0.002;
  Run run_;
  std::vector<Run> pending_;      // before a direction is known
  std::vector<RasterLine> lines_; // the last line; before the pass is established all of them
  std::size_t count_ = 0;         // lines of the pass
  Directions directions_;
  RasterFrame frame_;
  double side_ = 0; // sign of the steps across
  double largest_stepover_ = 0;
  std::size_t waiting_ = 0;      // motions since the last line
  std::size_t link_motions_ = 0; // of them those that are no line
  bool established_ = false;
  bool gave_up_ = false;
};

/// The parallel passes among the steps of one operation, in order, in their final frames.
std::vector<RasterPass> find_rasters(std::span<motion::Step const> operation, RasterLimits const& limits);

} // namespace restep::finish
