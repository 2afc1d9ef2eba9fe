#include "cutter/cusp_row.hpp"

#include "cutter/cusp.hpp"

#include <algorithm>

namespace restep::cutter {

CuspRow::Level CuspRow::at(Vec2 tip) const {
  Level level;
  level.number = count_;
  level.tip = tip;
  level.tangent = meridian_->tangent(meridian_->nearest(tip));
  level.off = meridian_->signed_distance(tip);
  double const r = tool_->corner_radius;
  level.contact = tip + Vec2{0, r} - r * geometry::left_normal(level.tangent);
  level.valley = level.off;
  return level;
}

// Gives how many of the levels go on leaving something, and what the next one leaves with the last of them.
std::size_t CuspRow::meet(Level& next) const {
  for (std::size_t left = levels_.size(); left > 0; --left) {
    Level const& upper = levels_[left - 1];
    CuspPoint const meeting = outlines_meet(*tool_, upper.tip, next.tip);
    // The lower level is not farther out: nothing is left of the upper one.
    if (meeting.kind == CuspCase::none) continue;
    if (left > 1 && dot(meeting.at - upper.meeting, upper.tangent) <= 0) continue;
    next.meeting = meeting.at;
    next.height = meridian_->height_above_surface(meeting.at, tool_->corner_radius);
    next.one_edge = on_one_edge(*meridian_, tool_->corner_radius, upper.tip, next.tip);
    next.own = dot(next.meeting - next.contact, next.tangent) <= 0;
    next.valley = next.own ? next.off : upper.valley;
    return left;
  }
  return 0;
}

CuspRow::Peak CuspRow::peak(Level const& upper, Level const& lower, double valley_below) const {
  Peak peak{upper.number, lower.number, upper.tip, lower.tip};
  if (lower.one_edge) return peak;
  peak.cusp = std::max(0.0, lower.height - (upper.valley + valley_below) / 2);
  peak.height = std::max(0.0, lower.height);
  return peak;
}

bool CuspRow::cuts_away(Level const& lower, Level const& upper) {
  return dot(lower.meeting - upper.contact, upper.tangent) < 0;
}

CuspRow::Peak CuspRow::with(Vec2 tip) const {
  Level next = at(tip);
  std::size_t const left = meet(next);
  Peak found{next.number, next.number, tip, tip};
  if (left == 0) return found;
  Level const& upper = levels_[left - 1];
  if (!cuts_away(next, upper)) return peak(upper, next, next.off);
  // The valley below the upper one's own peak is this one's.
  return left > 1 && upper.own ? peak(levels_[left - 2], upper, next.off) : found;
}

void CuspRow::add(Vec2 tip) {
  Level next = at(tip);
  levels_.resize(meet(next));
  levels_.push_back(next);
  ++count_;
}

std::vector<CuspRow::Peak> CuspRow::peaks() const {
  std::vector<Peak> found;
  // From below, so that the valley below each peak is known.
  double valley = 0;
  for (std::size_t i = levels_.size(); i-- > 0;) {
    Level const& level = levels_[i];
    bool const own = i + 1 == levels_.size() || !cuts_away(levels_[i + 1], level);
    if (own) valley = level.off;
    if (i > 0 && level.own && !cuts_away(level, levels_[i - 1]))
      found.push_back(peak(levels_[i - 1], level, valley));
  }
  std::reverse(found.begin(), found.end());
  return found;
}

} // namespace restep::cutter
