#include "temporary_folder.hpp"
#include "text/output.hpp"

#include <catch2/catch.hpp>

#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <string>
#include <sys/stat.h>
#include <unistd.h>
#include <vector>

using namespace restep::text;
namespace fs = std::filesystem;

namespace {

AtomicOutput open_output(std::string const& path, std::string const& input = "") {
  auto output = AtomicOutput::create(path, input);
  REQUIRE(output);
  return std::move(*output);
}

std::string refusal(std::string const& path, std::string const& input = "") {
  auto const output = AtomicOutput::create(path, input);
  REQUIRE_FALSE(output);
  return output.error().what;
}

/// Runs `work` with standard output led to `descriptor`.
template <typename Work>
void with_standard_output(int descriptor, Work work) {
  std::fflush(stdout);
  int const before = dup(STDOUT_FILENO);
  dup2(descriptor, STDOUT_FILENO);
  work();
  dup2(before, STDOUT_FILENO);
  ::close(before);
}

} // namespace

TEST_CASE("an output appears only when it is committed", "[text]") {
  TemporaryFolder const folder;
  AtomicOutput output = open_output(folder.path("bezel.nc"));
  output.write("G1 X1\n");
  CHECK_FALSE(fs::exists(folder.path("bezel.nc")));
  output.write("M2\n");
  CHECK(output.size() == 9);
  REQUIRE(output.commit());
  CHECK(folder.read("bezel.nc") == "G1 X1\nM2\n");
  CHECK(folder.files() == 1);
}

TEST_CASE("an output that is given up leaves the old file and no trace", "[text]") {
  TemporaryFolder const folder;
  folder.write("bezel.nc", "old");
  {
    AtomicOutput output = open_output(folder.path("bezel.nc"));
    output.write(std::string(1 << 20, 'x'));
    CHECK(folder.files() == 2);
  }
  CHECK(folder.files() == 1);
  CHECK(folder.read("bezel.nc") == "old");
}

TEST_CASE("a signal handler can remove what is unfinished", "[text]") {
  TemporaryFolder const folder;
  AtomicOutput const output = open_output(folder.path("bezel.nc"));
  REQUIRE(folder.files() == 1);
  remove_unfinished_outputs();
  CHECK(folder.files() == 0);
}

TEST_CASE("a finished output is safe from the signal handler", "[text]") {
  TemporaryFolder const folder;
  REQUIRE(open_output(folder.path("bezel.nc")).commit());
  remove_unfinished_outputs();
  CHECK(folder.files() == 1);
}

TEST_CASE("a replaced file keeps its access rights and a new one follows the mask", "[text]") {
  TemporaryFolder const folder;
  folder.write("yoke.nc", "old");
  REQUIRE(chmod(folder.path("yoke.nc").c_str(), 0640) == 0);
  REQUIRE(open_output(folder.path("yoke.nc")).commit());
  struct stat status {};
  REQUIRE(stat(folder.path("yoke.nc").c_str(), &status) == 0);
  CHECK((status.st_mode & 07777) == 0640);

  mode_t const before = umask(027);
  REQUIRE(open_output(folder.path("new.nc")).commit());
  umask(before);
  REQUIRE(stat(folder.path("new.nc").c_str(), &status) == 0);
  CHECK((status.st_mode & 07777) == 0640);
}

TEST_CASE("a symbolic link stays a link and its target gets the text", "[text]") {
  TemporaryFolder const folder;
  folder.write("yoke.nc", "old");
  fs::create_symlink("yoke.nc", folder.path("link.nc"));
  fs::create_symlink("later.nc", folder.path("dangling.nc"));
  for (std::string const name : {"link.nc", "dangling.nc"}) {
    AtomicOutput output = open_output(folder.path(name));
    output.write("new");
    REQUIRE(output.commit());
    CHECK(fs::is_symlink(folder.path(name)));
  }
  CHECK(folder.read("yoke.nc") == "new");
  CHECK(folder.read("later.nc") == "new");
  fs::create_symlink("round.nc", folder.path("round.nc"));
  CHECK_FALSE(AtomicOutput::create(folder.path("round.nc"), ""));
}

TEST_CASE("folders, devices, pipes and missing folders are no targets", "[text]") {
  TemporaryFolder const folder;
  CHECK(refusal(folder.path(".")) == "is a folder");
  CHECK(refusal("/dev/null") == "is a device or a pipe, not a file");
  REQUIRE(mkfifo(folder.path("pipe").c_str(), 0600) == 0);
  CHECK(refusal(folder.path("pipe")) == "is a device or a pipe, not a file");
  CHECK(refusal(folder.path("missing/bezel.nc")) == "cannot write: no such file or directory");
  CHECK(refusal(folder.path("missing/")) == "is a folder that does not exist");
  CHECK(refusal("") == "an empty name is no file");
}

TEST_CASE("the program that is read is never the target, under whatever name", "[text]") {
  TemporaryFolder const folder;
  folder.write("yoke.nc", "old");
  fs::create_symlink("yoke.nc", folder.path("link.nc"));
  fs::create_hard_link(folder.path("yoke.nc"), folder.path("hard.nc"));
  for (std::string const name : {"yoke.nc", "link.nc", "hard.nc", "./yoke.nc"})
    CHECK(refusal(folder.path(name), folder.path("yoke.nc")) ==
          "is the program that is being read; it is never overwritten");
  CHECK(AtomicOutput::create(folder.path("other.nc"), folder.path("yoke.nc")));
}

TEST_CASE("standard output gets everything at once, and nothing when it is given up", "[text]") {
  TemporaryFolder const folder;
  int const file = ::open(folder.path("out").c_str(), O_RDWR | O_CREAT, 0600);
  REQUIRE(file >= 0);
  std::string const text = std::string(600'000, 'x') + "M2\n";
  bool committed = false;
  with_standard_output(file, [&] {
    {
      auto given_up = AtomicOutput::create("-", "");
      given_up->write("never");
    }
    auto output = AtomicOutput::create("-", "");
    output->write(text);
    committed = output->commit().has_value();
  });
  ::close(file);
  CHECK(committed);
  CHECK(folder.read("out") == text);
}

TEST_CASE("a reader of standard output that went away is an error and not a signal", "[text]") {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  ::close(ends[0]);
  tl::expected<void, FileError> outcome;
  with_standard_output(ends[1], [&] {
    auto output = AtomicOutput::create("-", "");
    output->write("M2\n");
    outcome = output->commit();
  });
  ::close(ends[1]);
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().path == "standard output");
  CHECK(outcome.error().what == "cannot write: broken pipe");
}

TEST_CASE("a full disk is an error", "[text]") {
  int const full = ::open("/dev/full", O_WRONLY);
  if (full < 0) return;
  tl::expected<void, FileError> outcome;
  with_standard_output(full, [&] {
    auto output = AtomicOutput::create("-", "");
    output->write("M2\n");
    outcome = output->commit();
  });
  ::close(full);
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().what == "cannot write: no space left on device");
}

TEST_CASE("a target that became a folder meanwhile is an error", "[text]") {
  TemporaryFolder const folder;
  AtomicOutput output = open_output(folder.path("bezel.nc"));
  output.write("M2\n");
  fs::create_directory(folder.path("bezel.nc"));
  auto const outcome = output.commit();
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().what == "cannot put the result in its place: is a directory");
  CHECK(folder.files() == 1);
}

TEST_CASE("more outputs at once than can be removed on a signal are refused", "[text]") {
  TemporaryFolder const folder;
  std::vector<AtomicOutput> open;
  for (int i = 0; i < 32; ++i)
    open.push_back(open_output(folder.path("bezel" + std::to_string(i))));
  CHECK(refusal(folder.path("bezel.nc")) == "too many outputs are open at once, or the path is too long");
  open.pop_back();
  CHECK(AtomicOutput::create(folder.path("bezel.nc"), ""));
}

TEST_CASE("standard output needs a folder for its temporary file", "[text]") {
  TemporaryFolder const folder;
  char const* const before = std::getenv("TMPDIR");
  std::string const kept = before == nullptr ? "" : before;
  setenv("TMPDIR", folder.path("missing").c_str(), 1);
  auto const output = AtomicOutput::create("-", "");
  before == nullptr ? unsetenv("TMPDIR") : setenv("TMPDIR", kept.c_str(), 1);
  REQUIRE_FALSE(output);
  CHECK(output.error().path == folder.path("missing"));
  CHECK(output.error().what == "cannot make a temporary file: no such file or directory");
}

TEST_CASE("a name of the greatest length can be written", "[text]") {
  TemporaryFolder const folder;
  std::string const name = std::string(252, 'n') + ".nc";
  REQUIRE(open_output(folder.path(name)).commit());
  CHECK(fs::exists(folder.path(name)));
}
