#include "report/html_parts.hpp"

// Takes the place of the bundle where Node was not at hand.
namespace restep::report {

std::string_view page_script() {
  return {};
}

} // namespace restep::report
