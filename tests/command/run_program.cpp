#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

extern char** environ;

namespace restep::command {

Folder::Folder() {
  std::string name = (std::filesystem::temp_directory_path() / "restep-test-XXXXXX").string();
  REQUIRE(mkdtemp(name.data()) != nullptr);
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

std::string Folder::write(std::string const& name, std::string_view content) const {
  std::ofstream file(path_ / name, std::ios::binary);
  file << content;
  REQUIRE(file.good());
  return path(name);
}

std::size_t Folder::files() const {
  std::size_t count = 0;
  for ([[maybe_unused]] auto const& entry : std::filesystem::directory_iterator(path_))
    ++count;
  return count;
}

std::string content_of(std::filesystem::path const& file) {
  INFO(file.string());
  std::ifstream stream(file, std::ios::binary);
  REQUIRE(stream.good());
  std::ostringstream content;
  content << stream.rdbuf();
  return content.str();
}

std::string source_file(std::string const& name) {
  return std::string(RESTEP_SOURCE_DIR) + "/" + name;
}

Run run_program(std::vector<std::string> const& arguments, std::string_view input,
                std::filesystem::path const& folder) {
  // Files instead of pipes: nothing can fill up and stop.
  Folder streams;
  std::string const in = streams.write("in", input), out = streams.path("out"), err = streams.path("err");

  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, in.c_str(), O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  if (!folder.empty()) posix_spawn_file_actions_addchdir_np(&actions, folder.c_str());

  // The profiles of the source tree, whatever the machine that runs the tests has.
  std::string const profiles = "RESTEP_PROFILES=" + source_file("profiles");
  std::vector<char*> environment;
  for (char** entry = environ; *entry != nullptr; ++entry) {
    if (std::string_view(*entry).substr(0, 16) != "RESTEP_PROFILES=") environment.push_back(*entry);
  }
  environment.push_back(const_cast<char*>(profiles.c_str()));
  environment.push_back(nullptr);

  std::vector<std::string> words{RESTEP_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& word : words)
    argv.push_back(word.data());
  argv.push_back(nullptr);

  pid_t child = 0;
  int const failed = posix_spawn(&child, RESTEP_PROGRAM, &actions, nullptr, argv.data(), environment.data());
  posix_spawn_file_actions_destroy(&actions);
  REQUIRE(failed == 0);
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, content_of(out), content_of(err)};
}

} // namespace restep::command
