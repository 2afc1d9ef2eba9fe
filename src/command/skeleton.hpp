#pragma once

#include "dialect/profile.hpp"

#include <string_view>

namespace restep::command {

/// A profile to begin one's own with: it has no fault as it stands, and every key in it says what it is and
/// where a machine's manual tells it.
std::string_view profile_skeleton(dialect::ProfileKind kind);

} // namespace restep::command
