#pragma once

#include "dialect/profile.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"

#include <optional>

namespace restep::proof {

/// How far what was read may be from what was meant, all from the digits a dialect writes.
struct Tolerances {
  double position = 0; ///< half a last digit, mm per axis
  double course = 0;   ///< of an arc between its ends: one digit more
  double chord = 0;    ///< of chords that stand for an arc: the dialect's chord tolerance and the course's
  double feed = 0;     ///< half a last digit, mm/min or mm/rev
  double inverse = 0;  ///< half a last digit of an inverse-time feed, 1/min
  double speed = 0;    ///< half a last digit, rpm
  double dwell = 0;    ///< s
};

Tolerances tolerances(dialect::Dialect const& dialect, motion::Units units);

/// True when the two end points agree axis by axis. An axis whose place is not known must not move on the
/// other side either.
bool ends_agree(motion::Vec3 const& meant, motion::Vec3 const& read_from, motion::Vec3 const& read_to,
                double tolerance);

/// True when a read motion, which stands for a share of a meant one, runs at the meant speed.
bool feeds_agree(motion::Motion const& meant, motion::Motion const& read, Tolerances const& tolerances);

/// True when the meant and the read event are the same within the tolerances. Motions must be whole: an arc
/// that was cut into pieces is the caller's matter, as are cycles that only one side has. `deviation` grows
/// to the distance (mm) at which two motions were found to be.
bool agree(motion::Event const& meant, motion::Event const& read, Tolerances const& tolerances,
           double& deviation);

/// How many of the cuts, from the first on, agree one by one; none further on where one of them does not
/// move.
std::size_t agreeing_cuts(motion::Stretch const& meant, motion::Stretch const& read,
                          Tolerances const& tolerances, double& deviation);

/// The distance between two end points over the axes that are known on both sides, mm.
double apart(motion::Vec3 const& a, motion::Vec3 const& b);

} // namespace restep::proof
