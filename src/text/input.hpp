#pragma once

#include "text/place.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

namespace restep::text {

class Descriptor;

/// Files are read in blocks of this many bytes.
inline constexpr std::uint64_t block_size = std::uint64_t{1} << 20;

/// What went wrong outside the program's text: a file that cannot be read, written or found. Becomes exit
/// status 3.
struct FileError {
  std::string path;
  std::string what;
};

enum class LineEnd : std::uint8_t { none, lf, crlf, cr };

/// One line of a program. `text` has no line end and stays valid until Input::release_before passes it.
struct Line {
  std::string_view text;
  Place place;
  LineEnd end = LineEnd::none;
};

/// A program as one contiguous stretch of memory that is filled from the file as reading proceeds and given
/// back behind the reader, so that views into it stay valid and memory stays bounded whatever the size of the
/// file. A file that shrinks or changes while it is read is an error, never a crash. Standard input ("-") is
/// first spooled to an unnamed temporary file, so that every input can be read twice.
class Input {
public:
  /// Opens a file, or standard input for "-".
  static tl::expected<Input, FileError> open(std::string const& path);

  /// The whole content of a file that is already open.
  static tl::expected<Input, FileError> of_file(Descriptor file, std::string name);

  /// Another input over the same file, for another thread to read.
  tl::expected<Input, FileError> reopened() const;

  /// A program that is already in memory (tests, read-back of a writer's output). The text is copied.
  static Input from_memory(std::string_view content, std::string name = "memory");

  /// An input that grows: the read-back of a writer's output while it is being written. append() adds bytes;
  /// until close() a LineReader answers false at the last complete line and goes on when more has come.
  static Input pipe(std::string name);
  void append(std::string_view bytes);
  void close();
  /// False while a pipe may still grow.
  bool closed() const;

  Input(Input&&) noexcept;
  Input& operator=(Input&&) noexcept;
  ~Input();

  std::string const& name() const;

  /// Bytes in the file when it was opened; bytes appended so far for a pipe.
  std::uint64_t size() const;

  /// Makes bytes [0, end) readable (end is cut to the size) and returns false when the file could not be read
  /// that far (it shrank, or the medium failed); error() then says why.
  bool fill_to(std::uint64_t end);
  FileError const& error() const;

  /// The bytes that fill_to has made readable and release_before has not given back.
  std::string_view view(std::uint64_t begin, std::uint64_t end) const;

  /// The text of a block, read again from the file when it was already given back. For messages, not for the
  /// hot path.
  std::string text_of(Place place) const;

  /// Gives back the memory of all bytes before `offset`.
  void release_before(std::uint64_t offset);

  /// Starts over from the first byte (second pass over the same program).
  void rewind();

  struct Implementation;

private:
  friend class LineReader;
  explicit Input(std::unique_ptr<Implementation> implementation);
  bool fail(std::string what);
  std::unique_ptr<Implementation> implementation_;
};

/// Cuts an Input into lines; LF, CRLF and CR end a line, also mixed in one file. A byte-order mark at the
/// start is skipped (the first line's place begins behind it). A line of more than `longest_line` bytes is no
/// program: it becomes an error of the Input.
class LineReader {
public:
  static constexpr std::uint64_t longest_line = std::uint64_t{256} << 20;

  explicit LineReader(Input& input)
      : input_(&input) {}

  /// The next line, or false at the end of the file, on a read error (Input::error() tells them apart), or
  /// when an open pipe holds no further complete line (call again after more was appended). A file that ends
  /// with a line end has no empty last line.
  bool next(Line& line);

  /// What lies ahead of the last line, for a reader of many lines at once: up to `most` bytes, as far as they
  /// are at hand; fewer than that at the end of the input only, or where an open pipe has no more.
  std::string_view ahead(std::uint64_t most);
  /// Goes on behind so many of these bytes, which are whole lines.
  void skip(std::uint64_t bytes, std::uint32_t lines) {
    at_ += bytes;
    line_ += lines;
  }
  /// Where the next line begins, and the number of the last one.
  std::uint64_t offset() const { return at_; }
  std::uint32_t line() const { return line_; }

private:
  Input* input_;
  std::uint64_t at_ = 0;
  std::uint64_t filled_ = 0;
  // The next line ends at or behind at_; filled_ where there is none yet. Kept from line to line, so that a
  // program without CR is not searched for one again and again.
  std::uint64_t lf_ = 0;
  std::uint64_t cr_ = 0;
  char const* base_ = nullptr;
  std::uint32_t line_ = 0;

  bool fill_more();
  bool skip_byte_order_mark();
  std::uint64_t find(char end, std::uint64_t from) const;
};

} // namespace restep::text
