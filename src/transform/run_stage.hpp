#pragma once

#include "transform/transform.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace restep::transform {

/// A stage that works on runs of lines: feed lines that follow each other without anything between them, at
/// one feed, in one plane, that all stay at their height, all fall or all rise, and that nothing but the
/// course ties to their blocks. A rapid, an arc, another feed, an event, a remark or a blank line ends a run.
/// Memory: one run, of at most `longest_run` lines; a longer one is worked on in parts.
class RunStage : public motion::StepSource {
public:
  /// `name` is the stage's in the registry, `made` what it makes of lines, for the operator: "arcs".
  RunStage(motion::StepSource& upstream, Context& context, std::string_view name, std::string_view made)
      : upstream_(upstream)
      , context_(context)
      , name_(name)
      , made_(made) {}

  bool next(motion::Step& step) final;

  static constexpr std::size_t longest_run = 4096;

protected:
  /// How the path comes to a run and leaves it: unit directions, none where it does not go on cutting or that
  /// is not known yet.
  struct Ends {
    std::optional<motion::Vec3> before, after;
  };
  /// Gives the steps that take the run's place, in their order, by keep() and replace().
  virtual void reshape(std::span<motion::Step const> run, Ends const& ends) = 0;

  void keep(std::span<motion::Step const> steps);
  /// One motion in the place of `replaced`, from which it is `apart` at most (mm), in the block of the first
  /// of them. `called` says for the edit what it is.
  void replace(std::span<motion::Step const> replaced, motion::Motion const& motion, double apart,
               std::string const& called);

  double tolerance() const { return context_.path_tolerance; }
  double arc_digit() const { return context_.resolution.arc; }
  Abilities const& abilities() const { return context_.abilities; }

private:
  motion::StepSource& upstream_;
  Context& context_;
  std::string_view name_, made_;
  std::uint64_t replaced_ = 0, made_count_ = 0; ///< lines that went, and what stands for them
  double apart_ = 0;
  std::vector<motion::Step> run_;
  std::vector<motion::Step> out_;
  std::size_t taken_ = 0;
  std::optional<motion::Vec3> direction_; ///< of the cut that was emitted last, where the path goes on
  bool ended_ = false;

  void pull();
  void emit(motion::Step const& step);
  void summarize();
  void flush(motion::Step const* following);
  bool continues(motion::Step const& step) const;
};

/// The motions of a run.
std::vector<motion::Motion> motions_of(std::span<motion::Step const> run);

/// The angle between two unit directions, radians.
double angle_between(motion::Vec3 a, motion::Vec3 b);

/// For each line of a run the end of the stretch it stands in: the next line that begins with a turn of more
/// than `corner` radians, or the run's end.
std::vector<std::size_t> stretch_ends(std::span<motion::Motion const> lines, double corner);

/// The largest count in [least, most] for which `good` holds, found by doubling and halving, as if whatever
/// is too long stayed so; 0 when `least` is not good. Asks about ever longer stretches only while they are
/// good, so that its work is in proportion to what it finds.
template <class Good>
std::size_t longest(std::size_t least, std::size_t most, Good const& good) {
  if (most < least || !good(least)) return 0;
  std::size_t found = least, bad = most + 1;
  while (found < most && bad > most) {
    std::size_t const tried = found * 2 < most ? found * 2 : most;
    if (good(tried))
      found = tried;
    else
      bad = tried;
  }
  while (found + 1 < bad) {
    std::size_t const tried = found + (bad - found) / 2;
    (good(tried) ? found : bad) = tried;
  }
  return found;
}

} // namespace restep::transform
