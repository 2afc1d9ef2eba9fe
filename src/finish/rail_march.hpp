#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/marcher.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tool.hpp"
#include "finish/rails.hpp"

#include <cstddef>
#include <deque>
#include <optional>
#include <vector>

namespace restep::finish {

/// The largest step down from a height at which no rail's figure exceeds the target, with the exact cusp of
/// the tool in each rail's section.
class RailMarch {
public:
  /// The surface and the tool must outlive it.
  RailMarch(RailSurface const& surface, cutter::Tool const& tool, cutter::FinishTarget const& target,
            cutter::StepLimits const& limits);

  /// A step down, and what is less of it.
  struct Step {
    double from = 0, to = 0;         ///< heights
    std::optional<std::size_t> rail; ///< that rules it; none where the stepdown limit does, or the end
    bool least = false;              ///< no smaller one is allowed
  };

  /// From height z, not below `bottom`.
  Step deepest(double z, double bottom);

  /// The one that ends at height z, beginning not above `top`.
  Step ending_at(double z, double top) const;

  /// Where a share of a step ends: of the way along the meridian of the rail that rules it, or of its height.
  double part_of(Step const& step, double share) const;

  /// mm of height, of every step.
  double least_step() const { return least_; }

private:
  double excess(std::size_t rail, double from, double to) const;
  void narrow(std::size_t rail, double highest, Step& step) const;

  double height_;
  double least_;
  double stepdown_;
  std::deque<cutter::Marcher> marchers_; // stay where they are
  std::optional<std::size_t> last_worst_;
};

} // namespace restep::finish
