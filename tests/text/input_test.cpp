#include "temporary_folder.hpp"
#include "text/input.hpp"

#include <catch2/catch.hpp>

#include <filesystem>
#include <fstream>
#include <rapidcheck.h>
#include <string>
#include <vector>

using namespace restep::text;

namespace {

struct Read {
  std::vector<std::string> lines;
  std::vector<LineEnd> ends;
  std::vector<Place> places;
};

Read read_all(Input& input) {
  Read read;
  LineReader reader(input);
  for (Line line; reader.next(line);) {
    read.lines.emplace_back(line.text);
    read.ends.push_back(line.end);
    read.places.push_back(line.place);
  }
  return read;
}

Read read_text(std::string_view text) {
  Input input = Input::from_memory(text);
  return read_all(input);
}

/// "X0", "X1" and so on, of so many bytes or a few more.
std::string numbered_lines(std::size_t bytes) {
  std::string text;
  for (int i = 0; text.size() < bytes; ++i)
    text += "X" + std::to_string(i) + "\n";
  return text;
}

using Lines = std::vector<std::string>;
using Ends = std::vector<LineEnd>;

} // namespace

TEST_CASE("LF, CRLF and CR end a line, also mixed", "[text]") {
  Read const read = read_text("G0\nG1\r\nG2\rG3\r\rM2");
  CHECK(read.lines == Lines{"G0", "G1", "G2", "G3", "", "M2"});
  CHECK(read.ends == Ends{LineEnd::lf, LineEnd::crlf, LineEnd::cr, LineEnd::cr, LineEnd::cr, LineEnd::none});
}

TEST_CASE("a line end at the end of the file starts no further line", "[text]") {
  CHECK(read_text("M2\n").lines == Lines{"M2"});
  CHECK(read_text("M2\r\n").lines == Lines{"M2"});
  CHECK(read_text("M2\r").lines == Lines{"M2"});
  CHECK(read_text("\n").lines == Lines{""});
  CHECK(read_text("").lines.empty());
}

TEST_CASE("a byte-order mark is no part of the first line", "[text]") {
  Read const read = read_text("\xEF\xBB\xBFG21\nM2\n");
  CHECK(read.lines == Lines{"G21", "M2"});
  CHECK(read.places[0] == Place{3, 3, 1});
  CHECK(read_text("\xEF\xBB\xBF").lines.empty());
  CHECK(read_text("G21\n\xEF\xBB\xBFM2").lines == Lines{"G21", "\xEF\xBB\xBFM2"});
}

TEST_CASE("places tell where each line stands", "[text]") {
  Read const read = read_text("G0\r\n\r\nX1");
  CHECK(read.places == std::vector<Place>{{0, 2, 1}, {4, 0, 2}, {6, 2, 3}});
}

TEST_CASE("a file reads like the same text in memory, whatever its line ends and blocks", "[text]") {
  TemporaryFolder const folder;
  // Line ends fall before, on and behind the 1 MiB blocks in which a file is read.
  for (std::size_t const lead : {1048573u, 1048574u, 1048575u, 1048576u, 1048577u, 2097151u}) {
    for (std::string const end : {"\n", "\r\n", "\r"}) {
      std::string const text = std::string(lead, 'x') + end + "G1 X1" + end + end + "M2";
      folder.write("bezel.nc", text);
      auto input = Input::open(folder.path("bezel.nc"));
      REQUIRE(input);
      Read const from_file = read_all(*input);
      Read const from_memory = read_text(text);
      CHECK(from_file.lines == from_memory.lines);
      CHECK(from_file.ends == from_memory.ends);
      CHECK(from_file.places == from_memory.places);
      CHECK(from_file.lines.size() == 4);
    }
  }
}

TEST_CASE("joining the lines with their ends gives the text back", "[text][property]") {
  CHECK(rc::check([](std::vector<char> const& raw) {
    std::string text;
    for (char const c : raw)
      text += std::string_view("\r\n\r\nGX1 ")[static_cast<unsigned char>(c) % 8];
    Read const read = read_text(text);
    std::string joined;
    for (std::size_t i = 0; i < read.lines.size(); ++i) {
      RC_ASSERT(read.lines[i].find_first_of("\r\n") == std::string::npos);
      joined += read.lines[i];
      joined += read.ends[i] == LineEnd::lf     ? "\n"
                : read.ends[i] == LineEnd::crlf ? "\r\n"
                : read.ends[i] == LineEnd::cr   ? "\r"
                                                : "";
    }
    RC_ASSERT(joined == text);
  }));
}

TEST_CASE("a pipe gives the same lines as the whole text, however it is fed", "[text][property]") {
  CHECK(rc::check([](std::vector<char> const& raw, std::vector<std::uint8_t> const& cuts) {
    std::string text;
    for (char const c : raw)
      text += std::string_view("\r\n\r\nGX1 ")[static_cast<unsigned char>(c) % 8];
    Input pipe = Input::pipe("read-back");
    LineReader reader(pipe);
    std::vector<std::string_view> views;
    std::vector<std::string> copies;
    auto const drain = [&] {
      for (Line line; reader.next(line);) {
        views.push_back(line.text);
        copies.emplace_back(line.text);
      }
    };
    std::size_t at = 0;
    for (std::uint8_t const cut : cuts) {
      std::size_t const take = std::min<std::size_t>(cut % 5, text.size() - at);
      pipe.append(std::string_view(text).substr(at, take));
      at += take;
      drain();
    }
    pipe.append(std::string_view(text).substr(at));
    pipe.close();
    drain();
    RC_ASSERT(copies == read_text(text).lines);
    for (std::size_t i = 0; i < views.size(); ++i)
      RC_ASSERT(views[i] == copies[i]);
  }));
}

TEST_CASE("an open pipe keeps an unfinished line back", "[text]") {
  Input pipe = Input::pipe("read-back");
  LineReader reader(pipe);
  Line line;
  pipe.append("G1 X");
  CHECK_FALSE(reader.next(line));
  pipe.append("10\r");
  CHECK_FALSE(reader.next(line));
  pipe.append("\nM2");
  REQUIRE(reader.next(line));
  CHECK(line.text == "G1 X10");
  CHECK(line.end == LineEnd::crlf);
  CHECK_FALSE(reader.next(line));
  CHECK_FALSE(pipe.closed());
  pipe.close();
  REQUIRE(reader.next(line));
  CHECK(line.text == "M2");
  CHECK_FALSE(reader.next(line));
}

TEST_CASE("text that was given back can still be quoted from a file", "[text]") {
  TemporaryFolder const folder;
  std::string text = "G1 X1\n";
  while (text.size() < 5'000'000)
    text += "(the striker cam of the quarter bell)\n";
  folder.write("cam.nc", text);
  auto input = Input::open(folder.path("cam.nc"));
  REQUIRE(input);
  LineReader reader(*input);
  std::uint64_t lines = 0;
  for (Line line; reader.next(line); ++lines)
    input->release_before(line.place.offset);
  CHECK(input->error().what.empty());
  CHECK(input->text_of(Place{0, 5, 1}) == "G1 X1");
  input->rewind();
  Read const again = read_all(*input);
  CHECK(again.lines.size() == lines);
  CHECK(again.lines.front() == "G1 X1");
}

// Memory that was given back is used again farther on: every byte must still be the file's own.
TEST_CASE("a long file is read to the last byte while what lies behind is given back", "[text]") {
  TemporaryFolder const folder;
  std::string const text = numbered_lines(30'000'000);
  folder.write("long.nc", text);
  auto file = Input::open(folder.path("long.nc"));
  REQUIRE(file);
  Input pipe = Input::pipe("pipe");
  for (int pass = 0; pass < 2; ++pass) {
    LineReader from_file(*file);
    LineReader from_pipe(pipe);
    std::uint64_t wrong = 0;
    std::uint64_t lines = 0;
    Line line;
    Line piped;
    while (from_file.next(line)) {
      wrong += line.text == "X" + std::to_string(lines) ? 0 : 1;
      if (pass == 0) {
        pipe.append(std::string(line.text) + "\n");
        bool const again = from_pipe.next(piped);
        wrong += again && piped.text == line.text ? 0 : 1;
        pipe.release_before(piped.place.offset);
      }
      file->release_before(line.place.offset);
      ++lines;
    }
    CHECK(file->error().what.empty());
    CHECK(wrong == 0);
    CHECK(lines > 3'000'000);
    file->rewind();
  }
}

TEST_CASE("what is given back unread is never read, and what lies behind it is the file's own", "[text]") {
  TemporaryFolder const folder;
  std::string const text = numbered_lines(12'000'000);
  folder.write("long.nc", text);
  auto const file = Input::open(folder.path("long.nc"));
  REQUIRE(file);
  auto again = file->reopened();
  REQUIRE(again);
  for (std::uint64_t const offset : {0ULL, 5'000'000ULL, 5'000'100ULL, 7'340'032ULL, 11'000'000ULL}) {
    again->release_before(offset);
    REQUIRE(again->fill_to(offset + 1000));
    CHECK(again->view(offset, offset + 1000) == std::string_view(text).substr(offset, 1000));
  }
  CHECK(again->text_of(Place{6'000'000, 100, 1}) == text.substr(6'000'000, 100));
  CHECK(again->fill_to(text.size()));
  CHECK(again->view(text.size() - 10, text.size()) == std::string_view(text).substr(text.size() - 10));
}

TEST_CASE("a file that shrinks while it is read is an error and not a crash", "[text]") {
  TemporaryFolder const folder;
  folder.write("yoke.nc", std::string(4'000'000, '\n'));
  auto input = Input::open(folder.path("yoke.nc"));
  REQUIRE(input);
  LineReader reader(*input);
  Line line;
  REQUIRE(reader.next(line));
  std::filesystem::resize_file(folder.path("yoke.nc"), 1'500'000);
  while (reader.next(line)) {
  }
  CHECK(input->error().what == "the file became shorter while it was being read");
  CHECK(input->error().path == folder.path("yoke.nc"));
}

TEST_CASE("a file that changes between two passes is an error", "[text]") {
  TemporaryFolder const folder;
  folder.write("yoke.nc", "G1 X1\n");
  auto input = Input::open(folder.path("yoke.nc"));
  REQUIRE(input);
  CHECK(read_all(*input).lines.size() == 1);
  folder.write("yoke.nc", "G1 X1\nX2\n");
  input->rewind();
  CHECK(read_all(*input).lines.empty());
  CHECK(input->error().what == "the file changed while it was being read");
}

TEST_CASE("a missing file and a folder are refused with the reason", "[text]") {
  TemporaryFolder const folder;
  auto const missing = Input::open(folder.path("missing.nc"));
  REQUIRE_FALSE(missing);
  CHECK(missing.error().path == folder.path("missing.nc"));
  CHECK(missing.error().what == "cannot open: no such file or directory");
  auto const is_folder = Input::open(folder.path("."));
  REQUIRE_FALSE(is_folder);
  CHECK(is_folder.error().what == "is a folder, not a program");
}

TEST_CASE("a line longer than any program's is an error and not a program", "[text]") {
  TemporaryFolder const folder;
  folder.write("core", "G1 X1\n");
  // Blocks that were never written take no room on the medium.
  std::filesystem::resize_file(folder.path("core"), LineReader::longest_line + (std::uint64_t{4} << 20));
  auto input = Input::open(folder.path("core"));
  REQUIRE(input);
  LineReader reader(*input);
  Line line;
  REQUIRE(reader.next(line));
  CHECK_FALSE(reader.next(line));
  CHECK(input->error().what == "a line is longer than any program's: is this a program?");
}
