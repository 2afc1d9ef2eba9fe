#pragma once

#include "text/input.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace restep::text {

/// An open file of the system, closed at the end.
class Descriptor {
public:
  Descriptor() = default;
  explicit Descriptor(int number)
      : number_(number) {}
  Descriptor(Descriptor&& other) noexcept
      : number_(other.release()) {}
  Descriptor& operator=(Descriptor&& other) noexcept;
  ~Descriptor() { close(); }

  int number() const { return number_; }
  explicit operator bool() const { return number_ >= 0; }
  int release();
  /// False when the system reports a late write error.
  bool close();

private:
  int number_ = -1;
};

/// "cannot open: no such file or directory" for the error number that the system left in errno.
std::string system_error(std::string_view what);

/// Reads until `size` bytes or the end of the file; -1 on an error (errno tells which).
std::int64_t read_at(int number, char* to, std::size_t size, std::uint64_t offset);

/// Reads what is there, at most `size` bytes; 0 at the end, -1 on an error.
std::int64_t read_some(int number, char* to, std::size_t size);

/// Writes everything; false on an error (errno tells which).
bool write_all(int number, std::string_view bytes);

/// A temporary file without a name: it is gone when it is closed.
tl::expected<Descriptor, FileError> unnamed_file();

} // namespace restep::text
