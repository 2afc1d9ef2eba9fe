#pragma once

#include "finish/contour.hpp"

#include <optional>
#include <span>
#include <vector>

namespace restep::finish {

/// The line or circle that an element of a stack's contours lies on, as a function of the offset d: a line
/// keeps its direction, a circle its centre. mm.
class ElementLaw {
public:
  /// The mean of an element over all levels. `side` is +1 where d grows to the left of the course, -1 where
  /// to the right.
  ElementLaw(std::span<Segment const> levels, std::span<double const> d, double side);

  bool arc() const { return arc_; }
  /// Where the line or circle meets that of another element, both at offset d: the place next to `near`. At
  /// least one of the two is an arc.
  std::optional<Vec2> meets(ElementLaw const& other, double d, Vec2 near) const;
  /// Unit direction of the line, or of the circle at a point of it.
  Vec2 direction_at(Vec2 p) const;
  /// How far p stands to the left of the line or circle at offset d.
  double left_of(double d, Vec2 p) const;
  /// The centre of an arc's circle.
  Vec2 centre() const { return middle_; }

private:
  double reach(double d) const { return base_ + growth_ * d; }

  bool arc_ = false;
  bool ccw_ = false;
  Vec2 middle_{};   ///< centre of the circle; of a line the unit normal to the left
  double base_ = 0; ///< at d = 0: radius; of a line its distance from the origin along the normal
  double growth_ = 0;
};

/// A corner of a stack's contours at an arc: where two elements meet at an angle. (Between two lines it runs
/// along a straight line as they are moved, and needs no law of its own.)
class Corner {
public:
  Corner(ElementLaw before, ElementLaw after)
      : before_(before)
      , after_(after) {}

  /// Its place at offset d; none where the elements do not meet.
  std::optional<Vec2> at(double d, Vec2 near) const { return before_.meets(after_, d, near); }
  /// Sine of the angle between the elements where they meet.
  double sine_at(Vec2 p) const;

private:
  ElementLaw before_, after_;
};

} // namespace restep::finish
