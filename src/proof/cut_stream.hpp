#pragma once

#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "proof/course.hpp"
#include "text/place.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <vector>

namespace restep::proof {

/// What holds while a cut is made, besides the way.
struct CutState {
  int tool = 0;
  double speed = 0;
  motion::Rotation rotation = motion::Rotation::stop;
  bool mist = false, flood = false;
  int work_offset = 1;
  Vec3 origin =
      motion::unknown_position; ///< of the work offset, where the program itself has set it (G10 L2)
  motion::LengthOffset length_offset;
  motion::Compensation compensation;
  Vec3 shift{}; ///< of the coordinates by G92 and G52, mm; NaN where it depends on where the tool stood
};

struct Cut {
  motion::Motion motion; ///< as the program says it
  Course course;         ///< without the program's own shifts of its coordinates, moved as was asked
  text::Place place;
  CutState state;
  double feed = 0;       ///< mm/min, or mm/rev
  double at = 0;         ///< parameter up to which it has been compared
  bool compared = false; ///< its state was compared

  double rest() const { return (1 - at) * course.length(); }
};

/// The cuts of a program, one at a time, canned cycles taken apart, rapids left out. What holds is followed
/// as NISTIR 6556 has it: a tool change stops the spindle and leaves the coolant as it is (3.6.3).
class CutStream {
public:
  /// `moved_by` is added to every place, mm.
  CutStream(motion::StepSource& source, Vec3 moved_by)
      : source_(source)
      , moved_by_(moved_by) {}

  /// The cut that is compared now, or null at the end.
  Cut* current();
  void pass();
  /// The cut that current() gave last, while it was not passed; else null.
  Cut const* begun() const { return cut_ ? &*cut_ : nullptr; }

  /// Plain cuts that come next and have not been looked at one by one; empty where anything else does.
  motion::Stretch const& ahead();
  /// The first of them.
  Cut first_ahead() const { return cut_of(ahead_.cut(0), ahead_.places()[0]); }
  /// Where their places lie, less what the program says, mm.
  Vec3 moved_by() const;
  void pass_ahead(std::size_t count);

  /// Where the last cut that was passed stands; line 0 before the first.
  text::Place last() const { return last_; }
  double length() const { return length_; } ///< mm, of the cuts so far that are known
  std::uint64_t cuts() const { return cuts_; }

private:
  motion::StepSource& source_;
  motion::Stretch ahead_;    ///< what is left of it
  bool may_stretch_ = false; ///< what came last was a straight cut
  Vec3 moved_by_;
  double length_ = 0;
  std::uint64_t cuts_ = 0;
  CutState state_;
  std::map<int, Vec3> origins_;
  Vec3 position_ = motion::unknown_position;
  Vec3 axis_shift_{}, saved_shift_{}, local_shift_{}; ///< G92, what G92.3 brings back, G52
  std::optional<Cut> cut_;
  std::vector<motion::Event> parts_;
  std::size_t part_ = 0;
  text::Place place_, last_;

  bool fetch();
  void take(motion::Event const& event);
  void take_place(motion::Event const& event);
  void change_offset(motion::OffsetChange const& change);
  void begin(motion::Motion const& move);
  Cut cut_of(motion::Motion const& move, text::Place place) const;
};

} // namespace restep::proof
