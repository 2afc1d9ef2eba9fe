// What may go wrong around a run: the input is never changed, and under the output's name stands the whole
// result or what stood there before.

#include "tests/command/run_program.hpp"
#include "tests/robustness/started.hpp"

#include <catch2/catch.hpp>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <random>
#include <string>
#include <sys/stat.h>
#include <thread>
#include <unistd.h>

using namespace restep::command;
using namespace restep::robustness;
namespace fs = std::filesystem;
using namespace std::chrono_literals;

namespace {

std::vector<std::string> rewrite(std::string const& program, std::string const& output) {
  return {"rewrite", program, "--machine", "bench-mill", "--tools", "workshop", "-o", output};
}

/// The result of an undisturbed run.
std::string undisturbed(std::string const& program) {
  Folder const folder;
  Started run(rewrite(program, folder.path("whole.nc")));
  REQUIRE(run.wait().status == 0);
  return content_of(folder.path("whole.nc"));
}

bool has_unfinished(Folder const& folder) {
  for (auto const& entry : fs::directory_iterator(folder.path()))
    if (entry.path().extension() == ".unfinished") return true;
  return false;
}

/// Waits until the run has begun to write. False when it never did.
bool began_writing(Folder const& folder) {
  for (int i = 0; i < 5000; ++i) {
    if (has_unfinished(folder)) return true;
    std::this_thread::sleep_for(1ms);
  }
  return false;
}

} // namespace

TEST_CASE("a run that is killed at any moment leaves the whole result or none, and the program as it was",
          "[faults]") {
  Folder const folder;
  std::string const text = large_program(1'000'000);
  std::string const program = folder.write("crown.nc", text);
  std::string const whole = undisturbed(program);
  auto const begin = std::chrono::steady_clock::now();
  undisturbed(program);
  double const seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  std::mt19937 random(100);
  std::uniform_real_distribution<double> moment(0, 1.1 * seconds);
  int killed = 0;
  for (int i = 0; i < 100; ++i) {
    Folder const results;
    std::string const out = results.path("out.nc");
    bool const replaces = i % 2 == 1;
    if (replaces) results.write("out.nc", "the old one\n");
    Started run(rewrite(program, out));
    std::this_thread::sleep_for(std::chrono::duration<double>(moment(random)));
    run.signal(SIGKILL);
    killed += run.wait().signal == SIGKILL ? 1 : 0;
    if (fs::exists(out)) {
      std::string const left = content_of(out);
      bool const whole_or_old = left == whole || (replaces && left == "the old one\n");
      CHECK(whole_or_old);
    } else {
      CHECK_FALSE(replaces);
    }
  }
  CHECK(killed > 20);
  bool const unchanged = content_of(program) == text;
  CHECK(unchanged);
}

TEST_CASE("a run that is interrupted removes what it had begun", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(20'000'000));
  for (int const signal : {SIGINT, SIGTERM, SIGHUP}) {
    Folder const results;
    Started run(rewrite(program, results.path("out.nc")));
    REQUIRE(began_writing(results));
    run.signal(signal);
    CHECK(run.wait().status == 128 + signal);
    CHECK(results.files() == 0);
  }
}

TEST_CASE("two runs to one output at once both end well, and the output is whole", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(1'000'000));
  std::string const whole = undisturbed(program);
  Folder const results;
  Started one(rewrite(program, results.path("out.nc")));
  Started two(rewrite(program, results.path("out.nc")));
  CHECK(one.wait().status == 0);
  CHECK(two.wait().status == 0);
  CHECK(results.files() == 1);
  bool const is_whole = content_of(results.path("out.nc")) == whole;
  CHECK(is_whole);
}

TEST_CASE("a program that shrinks while it is read is file trouble and gives no output", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(20'000'000));
  Folder const results;
  Started run(rewrite(program, results.path("out.nc")));
  REQUIRE(began_writing(results));
  fs::resize_file(program, 3'000'000);
  CHECK(run.wait().status == 3);
  CHECK(results.files() == 0);
}

TEST_CASE("a program whose name is taken away while it is read is still read to its end", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(2'000'000));
  std::string const whole = undisturbed(program);
  Folder const results;
  Started run(rewrite(program, results.path("out.nc")));
  REQUIRE(began_writing(results));
  fs::remove(program);
  CHECK(run.wait().status == 0);
  bool const is_whole = content_of(results.path("out.nc")) == whole;
  CHECK(is_whole);
}

TEST_CASE("a medium that takes no more is file trouble and leaves nothing behind", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(2'000'000));
  Folder const results;
  Started::Limits limits;
  limits.file_bytes = 300'000;
  limits.error_file = folder.path("errors");
  Started run(rewrite(program, results.path("out.nc")), limits);
  CHECK(run.wait().status == 3);
  CHECK(results.files() == 0);
  CHECK(content_of(folder.path("errors")).find("cannot write") != std::string::npos);
}

TEST_CASE("a small disk that is full is file trouble and leaves nothing behind", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(2'000'000));
  fs::create_directory(folder.path("disk"));
  std::string const disk = folder.path("disk");
  std::string const command = "unshare -m sh -c 'mount -t tmpfs -o size=256k none \"" + disk +
                              "\" || exit 77; " + RESTEP_PROGRAM + " rewrite \"" + program + "\" -o \"" +
                              disk + "/out.nc\" >/dev/null 2>&1; status=$?; [ -z \"$(ls -A \"" + disk +
                              "\")\" ] || exit 78; exit $status' 2>/dev/null";
  int const status = std::system(command.c_str());
  if (!WIFEXITED(status) || WEXITSTATUS(status) == 77 || WEXITSTATUS(status) == 1) {
    WARN("no right to mount a small disk here");
    return;
  }
  CHECK(WEXITSTATUS(status) == 3);
}

TEST_CASE("folders, pipes and places that cannot be written to are refused before the work", "[faults]") {
  Folder const folder;
  std::string const program = folder.write("crown.nc", large_program(10'000));
  fs::create_directory(folder.path("shelf"));
  REQUIRE(mkfifo(folder.path("pipe").c_str(), 0600) == 0);
  for (std::string const& out :
       {folder.path("shelf"), folder.path("pipe"), std::string("/proc/out.nc"), std::string("/dev/full")}) {
    Started run(rewrite(program, out));
    INFO(out);
    CHECK(run.wait().status == 3);
  }
}

TEST_CASE("a link is followed and stays a link", "[faults]") {
  Folder const folder, far;
  std::string const program = folder.write("crown.nc", large_program(10'000));
  far.write("target.nc", "old");
  fs::create_symlink(far.path("target.nc"), folder.path("link.nc"));
  Started run(rewrite(program, folder.path("link.nc")));
  CHECK(run.wait().status == 0);
  CHECK(fs::is_symlink(folder.path("link.nc")));
  CHECK(content_of(far.path("target.nc")).find("X") != std::string::npos);
}

TEST_CASE("in place the program is kept until its rewrite is proven", "[faults]") {
  Folder const folder;
  std::string const text = large_program(20'000'000);
  std::string const program = folder.write("crown.nc", text);
  std::vector<std::string> const arguments{"rewrite", program, "--machine", "bench-mill", "--in-place"};
  Started run(arguments);
  REQUIRE(began_writing(folder));
  run.signal(SIGKILL);
  run.wait();
  bool const unchanged = content_of(program) == text;
  CHECK(unchanged);
}
