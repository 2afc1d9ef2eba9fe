#pragma once

#include "motion/step.hpp"

#include <string>

namespace restep::proof {

/// An event in words with its figures, for messages: "G1 line to X10 Y5 Z-1.005 F400".
std::string describe(motion::Event const& event);

/// A number with at most `decimals` digits behind the point, no trailing zeros, never "-0"; "?" when not
/// known.
std::string plain_number(double value, int decimals);

} // namespace restep::proof
