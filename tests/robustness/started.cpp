#include "tests/robustness/started.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <cmath>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace restep::robustness {

namespace {

void limit(int resource, double most) {
  rlimit bound{};
  bound.rlim_cur = bound.rlim_max = static_cast<rlim_t>(most);
  setrlimit(static_cast<__rlimit_resource>(resource), &bound);
}

} // namespace

Started::Started(std::vector<std::string> const& arguments, Limits const& limits) {
  std::vector<std::string> words{RESTEP_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& word : words)
    argv.push_back(word.data());
  argv.push_back(nullptr);
  std::string const errors = limits.error_file.empty() ? "/dev/null" : limits.error_file;

  child_ = fork();
  REQUIRE(child_ >= 0);
  if (child_ != 0) return;
  dup2(open("/dev/null", O_RDWR), STDIN_FILENO);
  dup2(open("/dev/null", O_WRONLY), STDOUT_FILENO);
  dup2(open(errors.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
  setenv("RESTEP_PROFILES", RESTEP_SOURCE_DIR "/profiles", 1);
  setenv("LC_ALL", limits.locale.c_str(), 1);
  if (limits.cpu_seconds > 0) limit(RLIMIT_CPU, std::ceil(limits.cpu_seconds));
  if (limits.file_bytes > 0) limit(RLIMIT_FSIZE, static_cast<double>(limits.file_bytes));
  execv(RESTEP_PROGRAM, argv.data());
  _exit(127);
}

Started::~Started() {
  if (child_ < 0) return;
  kill(child_, SIGKILL);
  waitpid(child_, nullptr, 0);
}

void Started::signal(int number) const {
  kill(child_, number);
}

Ending Started::wait() {
  int status = 0;
  rusage used{};
  REQUIRE(wait4(child_, &status, 0, &used) == child_);
  child_ = -1;
  Ending ending;
  if (WIFEXITED(status)) ending.status = WEXITSTATUS(status);
  if (WIFSIGNALED(status)) ending.signal = WTERMSIG(status);
  auto const seconds = [](timeval t) {
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_usec) / 1e6;
  };
  ending.cpu_seconds = seconds(used.ru_utime) + seconds(used.ru_stime);
  ending.peak_megabytes = static_cast<double>(used.ru_maxrss) / 1024;
  return ending;
}

std::string large_program(std::size_t bytes) {
  std::string text = "(BELL CROWN)\nG21 G90 G17\nT4 M6\nS9000 M3\nG0 X-30 Y-30 Z15\nG1 Z4 F300\n";
  constexpr double radius = 60; // mm, of the dome
  for (int line = 0; text.size() < bytes; ++line) {
    double const y = -30 + 0.05 * (line % 1200);
    for (int i = 0; i <= 400; ++i) {
      double const x = (line % 2 == 0 ? 1 : -1) * (-30 + 0.15 * i);
      double const z = std::sqrt(radius * radius - x * x - y * y) - radius;
      text += fmt::format("X{:.4f} Y{:.4f} Z{:.4f}\n", x, y, z);
    }
  }
  return text + "G0 Z15\nM5\nM30\n";
}

} // namespace restep::robustness
