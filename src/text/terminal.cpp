#include "text/terminal.hpp"

#include <unistd.h>

namespace restep::text {

bool standard_error_is_terminal() {
  return isatty(STDERR_FILENO) == 1;
}

} // namespace restep::text
