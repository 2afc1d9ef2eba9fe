#pragma once

namespace restep::text {

/// True when standard error goes to a terminal, so that a person sees what is written there as it comes.
bool standard_error_is_terminal();

} // namespace restep::text
