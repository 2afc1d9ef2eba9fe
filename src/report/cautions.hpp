#pragma once

#include <span>
#include <string_view>

namespace restep::report {

/// What belongs beside every program for hard material on a light machine.
std::span<std::string_view const> cautions();

} // namespace restep::report
