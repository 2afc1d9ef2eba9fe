#include "command/run.hpp"
#include "text/output.hpp"
#include "text/terminal.hpp"

#include <csignal>
#include <cstdlib>
#include <iostream>

namespace {

/// Ctrl-C, or a terminal that is closed, leaves no half-written file behind. The status is the shell's for a
/// program ended by a signal.
extern "C" void clean_up(int signal) {
  restep::text::remove_unfinished_outputs();
  std::_Exit(128 + signal);
}

} // namespace

int main(int argc, char** argv) {
  std::signal(SIGINT, clean_up);
  std::signal(SIGTERM, clean_up);
  std::signal(SIGHUP, clean_up);
  std::signal(SIGXFSZ, SIG_IGN); // a file that may not grow is a failed write, which is told and tidied up
  return restep::command::run({argv + 1, argv + argc}, std::cout, std::cerr,
                              restep::text::standard_error_is_terminal());
}
