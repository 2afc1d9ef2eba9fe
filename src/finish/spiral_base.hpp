#pragma once

#include "finish/contour.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace restep::finish {

/// A closed contour and its offsets, as coordinates in plan: u counts along the contour, w to the left of its
/// course. Every element keeps its share of u whatever the offset: a line moves sideways and ends where its
/// neighbours' offsets begin, an arc keeps its centre and its angles. Exact for lines, for arcs and for the
/// smooth joints between them; two lines that meet at an angle keep their corner. Of neighbouring chords of a
/// curve (finish/course) the curve and its offsets are taken, w = 0 being the arc through their ends.
class SpiralBase {
public:
  /// The error says in the user's words why the contour's offsets are not known.
  static tl::expected<SpiralBase, std::string> from(std::vector<Segment> const& loop);

  /// Length of the contour itself, mm: u runs from 0 to it.
  double length() const { return length_; }

  /// Where a point stands.
  struct Place {
    double u = 0; ///< counted on from turn to turn: any number
    double w = 0;
  };
  /// The place of a point that is looked for between u = low and u = high (neither wrapped to one turn); none
  /// when no normal of the contour there meets the point.
  std::optional<Place> place_of(Vec2 p, double low, double high) const;

  Vec2 point(double u, double w) const;
  /// Unit normal to the left at u.
  Vec2 left(double u) const;
  /// Centre of the arc that lies about u; none on a line.
  std::optional<Vec2> centre(double u) const;

  /// The contour itself, chords of a curve as arcs through their ends.
  std::vector<Segment> curve() const;

  /// Where its elements begin, and where the last one ends.
  std::vector<double> joints() const;
  /// The same contour with its joints moved to the left by `w` mm each; closed where it was not, at the place
  /// that its end moves to. Arcs keep their centre as far as their new ends let them.
  std::vector<Segment> moved(std::vector<double> const& w) const;

  /// The range of w within which no element vanishes.
  double lowest() const { return lowest_; }
  double highest() const { return highest_; }

  /// How far a curve that is told in chords lies beside them, mm: the largest sagitta of neighbouring lines
  /// that turn a little at their joints. 0 where curves are arcs.
  double chord_tolerance() const { return chord_tolerance_; }

private:
  struct Element {
    Segment segment;
    double start = 0;              ///< u of its beginning
    double length = 0;             ///< at w = 0
    double sweep = 0;              ///< radians, above 0; arcs only
    Vec2 along{};                  ///< lines only
    Vec2 joint_from{}, joint_to{}; ///< how its ends move with w
    double bend = 0;               ///< radians that the curve turns over it whose chord it is; 0 for a line

    /// Four times the w of the curve above the middle of the chord.
    double bulge() const { return -bend * length / 2; }
    /// How far it moves along its own normal per w, at a share of its length.
    double moves(double share) const {
      Vec2 const normal = left_normal(along);
      return (1 - share) * dot(joint_from, normal) + share * dot(joint_to, normal);
    }
  };
  struct At {
    std::size_t element = 0;
    double share = 0;
  };
  At locate(double u) const;
  void find_bends();
  static std::optional<Vec2> joint_of(Element const& before, Element const& after);
  /// The share of the element at which the point's normal stands (outside 0 ... 1: not on the element), and
  /// the offset.
  static bool project(Element const& e, Vec2 p, double& share, double& w);

  std::vector<Element> elements_;
  double length_ = 0;
  double lowest_ = 0, highest_ = 0;
  double chord_tolerance_ = 0;
};

} // namespace restep::finish
