#include "text/output.hpp"

#include "text/descriptor.hpp"
#include "text/unfinished.hpp"

#include <climits>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <fcntl.h>
#include <optional>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace restep::text {

namespace {

constexpr std::size_t buffer_size = std::size_t{1} << 18;
constexpr int most_links = 40;

/// While it lives, a reader that went away is an error number and not the end of the process.
class PipeSignalIgnored {
public:
  PipeSignalIgnored() {
    struct sigaction ignore {};
    ignore.sa_handler = SIG_IGN;
    sigaction(SIGPIPE, &ignore, &before_);
  }
  ~PipeSignalIgnored() { sigaction(SIGPIPE, &before_, nullptr); }
  PipeSignalIgnored(PipeSignalIgnored const&) = delete;
  PipeSignalIgnored& operator=(PipeSignalIgnored const&) = delete;

private:
  struct sigaction before_ {};
};

/// While it lives, no signal comes between making a file and noting its name.
class SignalsHeld {
public:
  SignalsHeld() {
    sigset_t all;
    sigfillset(&all);
    pthread_sigmask(SIG_BLOCK, &all, &before_);
  }
  ~SignalsHeld() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
  SignalsHeld(SignalsHeld const&) = delete;
  SignalsHeld& operator=(SignalsHeld const&) = delete;

private:
  sigset_t before_{};
};

std::string folder_of(std::string const& path) {
  std::size_t const slash = path.rfind('/');
  if (slash == std::string::npos) return ".";
  return slash == 0 ? "/" : path.substr(0, slash);
}

std::string base_of(std::string const& path) {
  std::size_t const slash = path.rfind('/');
  return slash == std::string::npos ? path : path.substr(slash + 1);
}

/// Where the chain of links that starts at `path` ends, whether something is there or not.
tl::expected<std::string, FileError> follow_links(std::string const& path) {
  std::string at = path;
  for (int i = 0; i < most_links; ++i) {
    std::array<char, PATH_MAX> target{};
    ssize_t const length = readlink(at.c_str(), target.data(), target.size());
    if (length < 0) return at;
    std::string const to(target.data(), static_cast<std::size_t>(length));
    at = to.starts_with('/') ? to : folder_of(at).append("/").append(to);
  }
  errno = ELOOP;
  return tl::unexpected(FileError{path, system_error("cannot write")});
}

bool is_same_file(struct stat const& a, struct stat const& b) {
  return a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

bool is_input(struct stat const& target, std::string const& input_path) {
  struct stat input {};
  if (input_path.empty()) return false;
  int const found = input_path == "-" ? fstat(STDIN_FILENO, &input) : stat(input_path.c_str(), &input);
  return found == 0 && S_ISREG(input.st_mode) && is_same_file(input, target);
}

constexpr char const* would_overwrite_input = "is the program that is being read; it is never overwritten";

} // namespace

struct AtomicOutput::Implementation {
  std::string shown;          ///< the path as the user wrote it
  std::string target;         ///< where it leads; empty for standard output
  std::string temporary;      ///< empty when there is no named temporary file (any more)
  std::optional<mode_t> mode; ///< of the file that will be replaced
  Descriptor file;
  int slot = -1;
  std::uint64_t size = 0;
  std::string buffer;
  std::optional<FileError> failure;

  Implementation() = default;
  Implementation(Implementation const&) = delete;
  Implementation& operator=(Implementation const&) = delete;
  ~Implementation() { remove_temporary(); }

  void remove_temporary() {
    if (!temporary.empty()) unlink(temporary.c_str());
    temporary.clear();
    forget_unfinished(std::exchange(slot, -1));
  }

  void fail(std::string_view what) {
    if (!failure) failure = FileError{shown, system_error(what)};
  }

  void flush() {
    if (!failure && !write_all(file.number(), buffer)) fail("cannot write");
    buffer.clear();
  }

  tl::expected<void, FileError> make_temporary() {
    static std::atomic<unsigned> counter{0};
    // The name begins with a dot and ends unlike a program's, so that nothing picks it up; the base is cut to
    // leave room within the longest file name.
    std::string const base = base_of(target).substr(0, 200);
    // A new file gets what the user's mask grants; in place of an old one nobody may read before it is whole.
    mode_t const mode_now = mode ? 0600 : 0666;
    for (int attempt = 0; attempt < 1000; ++attempt) {
      std::string const name =
          fmt::format("{}/.{}.{}-{}.unfinished", folder_of(target), base, getpid(), counter.fetch_add(1));
      SignalsHeld const held;
      file = Descriptor(::open(name.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode_now));
      if (file) {
        temporary = name;
        slot = note_unfinished(name);
        if (slot >= 0) return {};
        return tl::unexpected(FileError{shown, "too many outputs are open at once, or the path is too long"});
      }
      if (errno != EEXIST) break;
    }
    return tl::unexpected(FileError{shown, system_error("cannot write")});
  }

  tl::expected<void, FileError> commit_to_file() {
    if (mode && fchmod(file.number(), *mode) != 0) fail("cannot keep the access rights");
    if (!failure && fsync(file.number()) != 0) fail("cannot write");
    if (!file.close()) fail("cannot write");
    if (!failure && std::rename(temporary.c_str(), target.c_str()) != 0)
      fail("cannot put the result in its place");
    if (failure) {
      remove_temporary();
      return tl::unexpected(*failure);
    }
    temporary.clear();
    forget_unfinished(std::exchange(slot, -1));
    // The new name itself reaches the medium with its folder; where folders cannot be synced nothing is lost.
    if (Descriptor const folder(::open(folder_of(target).c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
        folder)
      fsync(folder.number());
    return {};
  }

  tl::expected<void, FileError> commit_to_standard_output() {
    PipeSignalIgnored const ignored;
    std::vector<char> block(buffer_size);
    for (std::uint64_t at = 0; at < size && !failure;) {
      auto const wanted = static_cast<std::size_t>(std::min<std::uint64_t>(block.size(), size - at));
      std::int64_t const got = read_at(file.number(), block.data(), wanted, at);
      if (got != static_cast<std::int64_t>(wanted)) {
        fail("cannot read back the temporary file");
      } else if (!write_all(STDOUT_FILENO, {block.data(), wanted})) {
        fail("cannot write");
      }
      at += wanted;
    }
    file.close();
    if (failure) return tl::unexpected(*failure);
    return {};
  }
};

AtomicOutput::AtomicOutput(std::unique_ptr<Implementation> implementation)
    : implementation_(std::move(implementation)) {}
AtomicOutput::AtomicOutput(AtomicOutput&&) noexcept = default;
AtomicOutput& AtomicOutput::operator=(AtomicOutput&&) noexcept = default;
AtomicOutput::~AtomicOutput() = default;

tl::expected<AtomicOutput, FileError> AtomicOutput::create(std::string const& path,
                                                           std::string const& input_path) {
  auto made = std::make_unique<Implementation>();
  auto const refuse = [&](std::string what) {
    return tl::unexpected(FileError{made->shown, std::move(what)});
  };
  struct stat status {};

  if (path == "-") {
    made->shown = "standard output";
    if (fstat(STDOUT_FILENO, &status) != 0) return refuse(system_error("cannot write"));
    if (is_input(status, input_path)) return refuse(would_overwrite_input);
    auto file = unnamed_file();
    if (!file) return tl::unexpected(std::move(file.error()));
    made->file = std::move(*file);
    return AtomicOutput(std::move(made));
  }

  made->shown = path;
  if (path.empty()) return refuse("an empty name is no file");
  auto target = follow_links(path);
  if (!target) return tl::unexpected(std::move(target.error()));
  made->target = std::move(*target);
  if (stat(made->target.c_str(), &status) == 0) {
    if (S_ISDIR(status.st_mode)) return refuse("is a folder");
    if (!S_ISREG(status.st_mode)) return refuse("is a device or a pipe, not a file");
    if (is_input(status, input_path)) return refuse(would_overwrite_input);
    // A rename would replace even a file that its owner has protected against writing.
    if (access(made->target.c_str(), W_OK) != 0) return refuse(system_error("cannot write"));
    made->mode = status.st_mode & 07777;
  } else if (errno != ENOENT) {
    return refuse(system_error("cannot write"));
  } else if (base_of(made->target).empty()) {
    return refuse("is a folder that does not exist");
  }
  if (auto const temporary = made->make_temporary(); !temporary) return tl::unexpected(temporary.error());
  return AtomicOutput(std::move(made));
}

void AtomicOutput::write(std::string_view bytes) {
  Implementation& self = *implementation_;
  self.size += bytes.size();
  if (self.failure) return;
  self.buffer += bytes;
  if (self.buffer.size() >= buffer_size) self.flush();
}

std::uint64_t AtomicOutput::size() const {
  return implementation_->size;
}

tl::expected<Input, FileError> AtomicOutput::reread() {
  Implementation& self = *implementation_;
  self.flush();
  if (self.failure) return tl::unexpected(*self.failure);
  return Input::of_file(Descriptor(dup(self.file.number())), self.shown);
}

void AtomicOutput::start_over() {
  Implementation& self = *implementation_;
  self.buffer.clear();
  self.size = 0;
  if (ftruncate(self.file.number(), 0) != 0 || lseek(self.file.number(), 0, SEEK_SET) != 0)
    self.fail("cannot write");
}

tl::expected<void, FileError> AtomicOutput::commit() {
  Implementation& self = *implementation_;
  self.flush();
  if (self.failure) {
    self.remove_temporary();
    return tl::unexpected(*self.failure);
  }
  return self.target.empty() ? self.commit_to_standard_output() : self.commit_to_file();
}

} // namespace restep::text
