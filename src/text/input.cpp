#include "text/input.hpp"

#include "text/descriptor.hpp"
#include "text/region.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace restep::text {

namespace {

// A pipe does not know how long it will grow. Address space costs nothing until it is used, so take much, and
// less where the system grants less.
constexpr std::uint64_t pipe_reservation = std::uint64_t{1} << 40;
constexpr std::uint64_t least_pipe_reservation = std::uint64_t{1} << 26;

enum class Kind : std::uint8_t { file, memory, pipe };

struct Stamp {
  std::int64_t seconds = 0;
  std::int64_t nanoseconds = 0;
  std::uint64_t size = 0;
  friend bool operator==(Stamp const&, Stamp const&) = default;
};

bool stamp_of(int number, Stamp& stamp) {
  struct stat status {};
  if (fstat(number, &status) != 0) return false;
  stamp = {status.st_mtim.tv_sec, status.st_mtim.tv_nsec, static_cast<std::uint64_t>(status.st_size)};
  return true;
}

/// Copies a stream that can be read only once into an unnamed file.
tl::expected<Descriptor, FileError> spool(int from, std::string const& name) {
  auto file = unnamed_file();
  if (!file) return file;
  std::vector<char> buffer(block_size);
  for (;;) {
    std::int64_t const got = read_some(from, buffer.data(), buffer.size());
    if (got < 0) return tl::unexpected(FileError{name, system_error("cannot read")});
    if (got == 0) return file;
    if (!write_all(file->number(), {buffer.data(), static_cast<std::size_t>(got)}))
      return tl::unexpected(FileError{name, system_error("cannot keep a copy in a temporary file")});
  }
}

} // namespace

struct Input::Implementation {
  Kind kind = Kind::memory;
  std::string name;
  std::uint64_t size = 0;
  std::uint64_t filled = 0;
  std::uint64_t released = 0;
  bool closed = true;
  FileError error;
  Region region;
  Descriptor file;
  Stamp stamp;
  std::string content;

  char const* base() const { return kind == Kind::memory ? content.data() : region.data(); }

  bool fail(std::string what) {
    error = {name, std::move(what)};
    return false;
  }

  bool is_unchanged() {
    Stamp now;
    if (!stamp_of(file.number(), now)) return fail(system_error("cannot read"));
    return now == stamp || fail("the file changed while it was being read");
  }

  bool read_to(std::uint64_t end) {
    while (filled < end) {
      std::uint64_t const to = std::min(size, (filled / block_size + 1) * block_size);
      if (!region.open_to(to)) return fail("not enough memory to read on");
      auto const wanted = static_cast<std::size_t>(to - filled);
      std::int64_t const got = read_at(file.number(), region.data() + filled, wanted, filled);
      if (got < 0) return fail(system_error("cannot read"));
      if (static_cast<std::size_t>(got) < wanted)
        return fail("the file became shorter while it was being read");
      filled = to;
      if (filled == size && !is_unchanged()) return false;
    }
    return true;
  }
};

Input::Input(std::unique_ptr<Implementation> implementation)
    : implementation_(std::move(implementation)) {}
Input::Input(Input&&) noexcept = default;
Input& Input::operator=(Input&&) noexcept = default;
Input::~Input() = default;

tl::expected<Input, FileError> Input::open(std::string const& path) {
  bool const standard = path == "-";
  std::string name = standard ? "standard input" : path;

  Descriptor opened(standard ? dup(STDIN_FILENO) : ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY));
  if (!opened) return tl::unexpected(FileError{name, system_error("cannot open")});
  struct stat status {};
  if (fstat(opened.number(), &status) != 0)
    return tl::unexpected(FileError{name, system_error("cannot open")});
  if (S_ISDIR(status.st_mode)) return tl::unexpected(FileError{name, "is a folder, not a program"});

  // A redirected file is read in place; what can be read only once is copied first.
  bool const in_place = S_ISREG(status.st_mode) && (!standard || lseek(opened.number(), 0, SEEK_CUR) == 0);
  if (in_place) return of_file(std::move(opened), std::move(name));
  auto copy = spool(opened.number(), name);
  if (!copy) return tl::unexpected(std::move(copy.error()));
  return of_file(std::move(*copy), std::move(name));
}

tl::expected<Input, FileError> Input::of_file(Descriptor file, std::string name) {
  auto made = std::make_unique<Implementation>();
  made->kind = Kind::file;
  made->name = std::move(name);
  made->file = std::move(file);
  if (!stamp_of(made->file.number(), made->stamp))
    return tl::unexpected(FileError{made->name, system_error("cannot read")});
  made->size = made->stamp.size;
  if (!made->region.reserve(made->size))
    return tl::unexpected(FileError{made->name, "the file is too large"});
  posix_fadvise(made->file.number(), 0, 0, POSIX_FADV_SEQUENTIAL);
  return Input(std::move(made));
}

tl::expected<Input, FileError> Input::reopened() const {
  Implementation const& self = *implementation_;
  Descriptor again(fcntl(self.file.number(), F_DUPFD_CLOEXEC, 0));
  if (!again) return tl::unexpected(FileError{self.name, system_error("cannot open")});
  auto input = of_file(std::move(again), self.name);
  if (input && input->implementation_->stamp != self.stamp)
    return tl::unexpected(FileError{self.name, "the file changed while it was being read"});
  return input;
}

Input Input::from_memory(std::string_view content, std::string name) {
  auto made = std::make_unique<Implementation>();
  made->name = std::move(name);
  made->content = content;
  made->size = made->filled = content.size();
  return Input(std::move(made));
}

Input Input::pipe(std::string name) {
  auto made = std::make_unique<Implementation>();
  made->kind = Kind::pipe;
  made->name = std::move(name);
  made->closed = false;
  std::uint64_t reservation = pipe_reservation;
  while (!made->region.reserve(reservation) && reservation > least_pipe_reservation)
    reservation /= 2;
  return Input(std::move(made));
}

void Input::append(std::string_view bytes) {
  Implementation& self = *implementation_;
  if (bytes.empty() || !self.error.what.empty()) return;
  if (!self.region.open_to(self.size + bytes.size())) {
    self.fail("not enough memory to keep the text that is read back");
    return;
  }
  std::memcpy(self.region.data() + self.size, bytes.data(), bytes.size());
  self.size += bytes.size();
  self.filled = self.size;
}

void Input::close() {
  implementation_->closed = true;
}

bool Input::closed() const {
  return implementation_->closed;
}

std::string const& Input::name() const {
  return implementation_->name;
}

std::uint64_t Input::size() const {
  return implementation_->size;
}

bool Input::fill_to(std::uint64_t end) {
  Implementation& self = *implementation_;
  if (!self.error.what.empty()) return false;
  std::uint64_t const wanted = std::min(end, self.size);
  return self.filled >= wanted || self.read_to(wanted);
}

FileError const& Input::error() const {
  return implementation_->error;
}

bool Input::fail(std::string what) {
  return implementation_->fail(std::move(what));
}

std::string_view Input::view(std::uint64_t begin, std::uint64_t end) const {
  return {implementation_->base() + begin, static_cast<std::size_t>(end - begin)};
}

std::string Input::text_of(Place place) const {
  Implementation const& self = *implementation_;
  std::uint64_t const end = std::min(self.size, place.offset + place.length);
  if (place.offset >= end) return {};
  if (place.offset >= self.released && end <= self.filled) return std::string(view(place.offset, end));
  if (self.kind != Kind::file) return {};
  std::string text(static_cast<std::size_t>(end - place.offset), '\0');
  std::int64_t const got = read_at(self.file.number(), text.data(), text.size(), place.offset);
  text.resize(got < 0 ? 0 : static_cast<std::size_t>(got));
  return text;
}

void Input::release_before(std::uint64_t offset) {
  Implementation& self = *implementation_;
  if (self.kind == Kind::memory) return;
  // What nobody has asked for so far is not read to be given back.
  if (self.kind == Kind::file && offset > self.filled)
    self.filled = std::max(self.filled, std::min(offset, self.size) / block_size * block_size);
  self.released = std::max(self.released, std::min(offset, self.filled));
  self.region.release_before(self.released);
}

void Input::rewind() {
  Implementation& self = *implementation_;
  if (self.kind != Kind::file) return;
  self.region.clear();
  self.filled = self.released = 0;
  if (self.error.what.empty()) self.is_unchanged();
}

} // namespace restep::text
