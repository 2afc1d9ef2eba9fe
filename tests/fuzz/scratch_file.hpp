#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
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

  /// Writes a text and gives the file's path.
  std::string write(std::string const& name, std::string_view text) const {
    std::string path = file(name);
    std::ofstream(path, std::ios::binary | std::ios::trunc)
        .write(text.data(), static_cast<std::streamsize>(text.size()));
    return path;
  }

  /// The fuzzer's bytes.
  std::string write(std::string const& name, std::uint8_t const* data, std::size_t size) const {
    return write(name, {reinterpret_cast<char const*>(data), size});
  }

private:
  std::filesystem::path path_;
};

} // namespace restep::fuzz
