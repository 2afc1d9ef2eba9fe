#pragma once

#include "text/input.hpp"

#include <tl/expected.hpp>

#include <memory>
#include <string>
#include <string_view>

namespace restep::text {

/// An output that appears whole or not at all. Bytes go to a temporary file beside the target (an unnamed
/// temporary file when the target is standard output); commit() flushes it to the medium and renames it, or
/// copies it to standard output. Without commit() the destructor removes every trace.
class AtomicOutput {
public:
  /// `path` "-" is standard output. Refuses a target that is a folder, a device or a pipe; a symbolic link is
  /// followed, the link stays a link. Refuses a target that is the same file as `input_path` (pass "" when
  /// there is none).
  static tl::expected<AtomicOutput, FileError> create(std::string const& path, std::string const& input_path);

  AtomicOutput(AtomicOutput&&) noexcept;
  AtomicOutput& operator=(AtomicOutput&&) noexcept;
  ~AtomicOutput();

  /// Appends bytes; the first failure (disk full) is remembered and reported by commit().
  void write(std::string_view bytes);

  std::uint64_t size() const;

  /// The bytes written so far, to be read.
  tl::expected<Input, FileError> reread();

  /// Forgets the bytes written so far.
  void start_over();

  /// Makes the output appear under its name.
  tl::expected<void, FileError> commit();

  struct Implementation;

private:
  explicit AtomicOutput(std::unique_ptr<Implementation> implementation);
  std::unique_ptr<Implementation> implementation_;
};

/// Removes the temporary files of all outputs that are not yet committed; safe to call from a signal handler.
void remove_unfinished_outputs() noexcept;

} // namespace restep::text
