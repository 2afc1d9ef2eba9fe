#pragma once

#include <chrono>
#include <string>
#include <sys/types.h>
#include <vector>

namespace restep::robustness {

/// How a started run ended.
struct Ending {
  int status = -1; ///< exit status, or -1 when a signal ended it
  int signal = 0;  ///< that signal
  double cpu_seconds = 0;
  double peak_megabytes = 0;
};

/// The built program, running on its own. Its streams go to files or to nowhere.
class Started {
public:
  struct Limits {
    double cpu_seconds = 0;   ///< 0: none
    long file_bytes = 0;      ///< the largest file it may write; 0: no limit
    std::string error_file{}; ///< where standard error goes
    std::string locale = "C"; ///< LC_ALL
  };

  explicit Started(std::vector<std::string> const& arguments)
      : Started(arguments, Limits()) {}
  Started(std::vector<std::string> const& arguments, Limits const& limits);
  ~Started();
  Started(Started const&) = delete;
  Started& operator=(Started const&) = delete;

  void signal(int number) const;
  Ending wait();

private:
  pid_t child_ = -1;
};

/// A program of the workshop's bell crown: lines over a dome, about this many bytes, without a finishing
/// pass.
std::string large_program(std::size_t bytes);

} // namespace restep::robustness
