#pragma once

#include <span>
#include <string>
#include <string_view>

namespace restep::dialect {

/// The candidate that a mistyped word most likely meant; empty when none is near (more than a third of the
/// letters would have to change).
std::string nearest(std::string_view word, std::span<std::string const> candidates);

/// "did you mean 'x'?" or nothing.
std::string did_you_mean(std::string_view word, std::span<std::string const> candidates);

} // namespace restep::dialect
