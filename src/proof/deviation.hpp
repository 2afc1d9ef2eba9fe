#pragma once

#include "motion/step.hpp"

#include <span>

namespace restep::proof {

/// How far a chain of lines and the one line or arc that stands for it are apart at most, mm, measured both
/// ways: no point of the chain is further from the motion and no point of the motion further from the chain.
/// Infinite when the motion does not pass the ends of the chain's links in their order, or when one of them
/// is not where the chain begins or ends. All ends must be known. Shares nothing with what fits the motion.
double deviation(std::span<motion::Motion const> chain, motion::Motion const& one);

} // namespace restep::proof
