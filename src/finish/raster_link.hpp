#pragma once

#include "finish/raster_find.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// Where a piece of a line ends and the next begins.
struct LineEnds {
  Vec3 previous{}, next{};
};

/// A way from one line to the next, or over a hole, as the program has it.
struct LineLink {
  LineEnds ends;
  std::vector<motion::Step> steps; ///< motions only
};

/// The link between two line ends that the program never had, after the program's links nearest to it.
///
/// Every point of a link has a share of the way across from the one line to the other: a point over the end
/// of the previous line keeps its distance from it, one before the next line its distance from that, one
/// between lies at the same share between the two. A height that the nearest links have in common, above both
/// lines, is a height to go over at and stays. An arc that would lose its shape (its centre no longer as far
/// from both its ends) is turned and scaled with the way from line to line instead, where that keeps it
/// level.
class LineLinks {
public:
  LineLinks(RasterFrame const& frame, double tolerance)
      : frame_(frame)
      , tolerance_(tolerance) {}

  void add(LineLink link) { links_.push_back(std::move(link)); }
  bool empty() const { return links_.empty(); }
  /// The first motion starts at `ends.previous`, the last ends at `ends.next`. The error is in words.
  tl::expected<std::vector<motion::Step>, std::string> make(LineEnds const& ends, double resolution) const;

private:
  Vec3 own(Vec3 const& p) const;
  Vec3 plan(Vec3 const& p) const;
  Vec3 moved(Vec3 const& p, LineLink const& link, LineLink const* other, std::size_t step, bool centre,
             LineEnds const& ends) const;
  static bool turn(std::vector<motion::Step>& steps, LineLink const& link, LineEnds const& ends);
  bool keeps_arcs(std::vector<motion::Step> const& steps) const;

  RasterFrame const& frame_;
  double tolerance_;
  std::vector<LineLink> links_;
};

} // namespace restep::finish
