#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <unistd.h>

namespace restep::fuzz {

/// What must hold of every input; the fuzzer keeps the input that ends the program.
inline void require(bool condition) {
  if (!condition) std::abort();
}

/// A folder of this process, for what is read from files alone. Removed when the program ends well.
class ScratchFolder {
public:
  ScratchFolder()
      : path_(std::filesystem::temp_directory_path() / ("restep-fuzz-" + std::to_string(::getpid()))) {
    std::filesystem::create_directories(path_);
  }
  ~ScratchFolder() {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
  ScratchFolder(ScratchFolder const&) = delete;
  ScratchFolder& operator=(ScratchFolder const&) = delete;

  std::string file(std::string const& name) const { return (path_ / name).string(); }

  /// Writes the fuzzer's bytes and gives the file's path.
  std::string write(std::string const& name, std::uint8_t const* data, std::size_t size) const {
    std::string path = file(name);
    std::ofstream stream(path, std::ios::binary | std::ios::trunc);
    stream.write(reinterpret_cast<char const*>(data), static_cast<std::streamsize>(size));
    return path;
  }

private:
  std::filesystem::path path_;
};

} // namespace restep::fuzz
