#pragma once

#include "finish/contour.hpp"
#include "motion/step.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <string>
#include <vector>

namespace restep::finish {

/// Where a contour begins or ends: plan position, height and offset of its level, and the unit direction of
/// the cut there.
struct Station {
  Vec2 at{};
  double z = 0;
  double d = 0;
  Vec2 direction{1, 0};
};

/// One way from the end of a contour to the start of the next, as the program has it: lead-out, retract or
/// step-over, lead-in.
struct LinkSample {
  Station previous, next;
  std::vector<motion::Step> steps; ///< motions only
};

/// What all links between the same two contours have in common, so that the link between two levels that the
/// program never had can be made: every point of it belongs to the contour it comes from, to the one it goes
/// to, stands still (a retract height), or lies between at a fixed share of the way.
class LinkLaw {
public:
  /// The error says in the user's words in what the links differ. `tolerance` mm. Two or more samples.
  static tl::expected<LinkLaw, std::string> fit(std::vector<LinkSample> samples, double tolerance);

  /// The link between two stations, in the manner (feeds, words) of the sample whose next level is nearest in
  /// height. The first motion starts at `previous`, the last ends at `next`. Fails when an arc in it would
  /// lose its shape.
  tl::expected<std::vector<motion::Step>, std::string> make(Station const& previous,
                                                            Station const& next) const;

private:
  enum class Anchor : unsigned char { previous, next, fixed, between };
  struct PlanRule {
    Anchor anchor = Anchor::fixed;
    Vec2 offset{}, slope{}; ///< offset + slope * d of the anchor's level; for fixed the place itself
    bool turning =
        false; ///< the offset is told along and across the cut's direction (starts that move round a loop)
    double share = 0; ///< between: part of the way from previous to next
  };
  struct HeightRule {
    Anchor anchor = Anchor::fixed;
    double offset = 0;
    double share = 0;
    double clear = 0;   ///< least height above the previous level in any sample
    bool above = false; ///< the point stood above the previous level in every sample
  };
  struct PointRule {
    PlanRule plan;
    HeightRule height;
  };
  struct Rule {
    PointRule to, centre;
  };

  template <class PointOf>
  static tl::expected<PointRule, std::string> rule_of(std::vector<LinkSample> const& samples,
                                                      PointOf const& point_of, bool belongs_to_next,
                                                      double tolerance);
  static motion::Vec3 place(PointRule const& rule, Station const& previous, Station const& next);

  double tolerance_ = 0; ///< mm
  std::vector<LinkSample> samples_;
  std::vector<Rule> rules_;
};

} // namespace restep::finish
