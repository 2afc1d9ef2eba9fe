#pragma once

#include "transform/transform.hpp"

#include <string>

namespace restep::transform {

/// The values that remarks of a profile may name.
struct ControlValues {
  int tool = -1; ///< -1: none yet
};

/// The event of a profile's word, its text kept in the context and its values put in.
motion::Event event_of(motion::ControlWord const& word, ControlValues const& values, Context& context);

/// A text without what would end a comment early: comment marks and line ends.
std::string fit_for_comment(std::string text);

} // namespace restep::transform
