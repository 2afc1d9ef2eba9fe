#pragma once

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

namespace restep::command {

/// How a run of the built program ended.
struct Run {
  int status = -1;
  std::string out, err;
};

/// Runs the built program with these arguments, in `folder` when one is given, `input` on standard input.
Run run_program(std::vector<std::string> const& arguments, std::string_view input = {},
                std::filesystem::path const& folder = {});

/// A folder of one test, removed with everything in it.
class Folder {
public:
  Folder();
  ~Folder();
  Folder(Folder const&) = delete;
  Folder& operator=(Folder const&) = delete;

  /// Writes a file and gives its path.
  std::string write(std::string const& name, std::string_view content) const;
  std::string path(std::string const& name) const { return (path_ / name).string(); }
  std::filesystem::path const& path() const { return path_; }
  bool has(std::string const& name) const { return std::filesystem::exists(path_ / name); }
  /// How many files there are, temporary ones included.
  std::size_t files() const;

private:
  std::filesystem::path path_;
};

/// The whole file; fails the test when there is none.
std::string content_of(std::filesystem::path const& file);

/// A file of the source tree.
std::string source_file(std::string const& name);

} // namespace restep::command
