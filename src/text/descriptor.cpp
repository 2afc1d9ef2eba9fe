#include "text/descriptor.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstdlib>
#include <fcntl.h>
#include <system_error>
#include <unistd.h>
#include <utility>

namespace restep::text {

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
  if (this != &other) {
    close();
    number_ = other.release();
  }
  return *this;
}

int Descriptor::release() {
  return std::exchange(number_, -1);
}

bool Descriptor::close() {
  int const number = release();
  return number < 0 || ::close(number) == 0;
}

std::string system_error(std::string_view what) {
  std::string reason = std::generic_category().message(errno);
  if (reason.size() > 1 && reason[0] >= 'A' && reason[0] <= 'Z' && reason[1] >= 'a' && reason[1] <= 'z')
    reason[0] = static_cast<char>(reason[0] - 'A' + 'a');
  return fmt::format("{}: {}", what, reason);
}

std::int64_t read_at(int number, char* to, std::size_t size, std::uint64_t offset) {
  std::size_t done = 0;
  while (done < size) {
    ssize_t const got = pread(number, to + done, size - done, static_cast<off_t>(offset + done));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return -1;
    if (got == 0) break;
    done += static_cast<std::size_t>(got);
  }
  return static_cast<std::int64_t>(done);
}

std::int64_t read_some(int number, char* to, std::size_t size) {
  for (;;) {
    ssize_t const got = read(number, to, size);
    if (got >= 0 || errno != EINTR) return got;
  }
}

bool write_all(int number, std::string_view bytes) {
  while (!bytes.empty()) {
    ssize_t const done = write(number, bytes.data(), bytes.size());
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return false;
    if (done == 0) {
      errno = EIO;
      return false;
    }
    bytes.remove_prefix(static_cast<std::size_t>(done));
  }
  return true;
}

tl::expected<Descriptor, FileError> unnamed_file() {
  char const* const wanted = std::getenv("TMPDIR");
  std::string const folder = wanted != nullptr && *wanted != '\0' ? wanted : "/tmp";
  std::string name = folder + "/restep-XXXXXX";
  Descriptor file(mkostemp(name.data(), O_CLOEXEC));
  if (!file) return tl::unexpected(FileError{folder, system_error("cannot make a temporary file")});
  unlink(name.c_str());
  return file;
}

} // namespace restep::text
