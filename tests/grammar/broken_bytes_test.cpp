// Bytes that no block holds, and lines that would cost the grammar too much: the whole answer to each.
#include "refusal.hpp"

#include <fmt/format.h>

#include <utility>
#include <vector>

using restep::test::Refusal;
using restep::test::refusal;

TEST_CASE("a foreign character is named where it stands", "[grammar]") {
  CHECK(refusal("X\xE2\x88\x92"
                "5") == Refusal{{1, 4},
                                "foreign-character",
                                "found a mathematical minus outside a comment",
                                "it only looks like '-': type it anew"});
  CHECK(refusal("\xD0\xA5"
                "5") == Refusal{{0, 2},
                                "foreign-character",
                                "found a Cyrillic letter outside a comment",
                                "it only looks like 'X': type it anew"});
  CHECK(refusal("G1 \xC3\x89") == Refusal{{3, 5},
                                          "foreign-character",
                                          "found '\xC3\x89' outside a comment",
                                          "only comments may hold such characters"});
  CHECK(refusal("G1\xC2\xA0X1") == Refusal{{2, 4},
                                           "foreign-character",
                                           "found a no-break space outside a comment",
                                           "write an ordinary blank"});
  CHECK(refusal("G1 X10 &") == Refusal{{7, 8},
                                       "unknown-character",
                                       "found '&', which starts no word",
                                       "text stands in a comment: (...)"});
  CHECK(refusal("\"text\"") == Refusal{{0, 1},
                                       "unknown-character",
                                       "found '\"', which starts no word",
                                       "text stands in a comment: (...)"});
  CHECK(refusal("@") == Refusal{{0, 1},
                                "unknown-character",
                                "found '@', which starts no word",
                                "text stands in a comment: (...)"});
}

TEST_CASE("a character that looks like another one is named with the one that it stands for", "[grammar]") {
  using Pair = std::pair<std::string, std::string>;
  std::vector<std::pair<std::string, Pair>> const cases{
      {"\xE2\x80\x90", {"a typographic hyphen", "-"}},
      {"\xE2\x80\x91", {"a typographic hyphen", "-"}},
      {"\xE2\x80\x93", {"a dash", "-"}},
      {"\xE2\x80\x94", {"a dash", "-"}},
      {"\xE2\x80\x9C", {"a typographic quotation mark", "\""}},
      {"\xE2\x80\x9D", {"a typographic quotation mark", "\""}},
      {"\xD0\x90", {"a Cyrillic letter", "A"}},
      {"\xD0\x9E", {"a Cyrillic letter", "O"}},
      {"\xCE\xA7", {"a Greek letter", "X"}},
      {"\xCE\xA5", {"a Greek letter", "Y"}},
      {"\xCE\x96", {"a Greek letter", "Z"}},
      {"\xCE\x97", {"a Greek letter", "H"}},
  };
  for (auto const& [bytes, meaning] : cases)
    CHECK(refusal("G1 " + bytes + "5") ==
          Refusal{{3, static_cast<std::uint32_t>(3 + bytes.size())},
                  "foreign-character",
                  fmt::format("found {} outside a comment", meaning.first),
                  fmt::format("it only looks like '{}': type it anew", meaning.second)});
  for (auto const& [bytes, name] : std::vector<Pair>{{"\xE2\x80\x89", "a thin space"},
                                                     {"\xE2\x80\xAF", "a no-break space"},
                                                     {"\xE3\x80\x80", "a wide space"}})
    CHECK(refusal("G1" + bytes + "X5") == Refusal{{2, 5},
                                                  "foreign-character",
                                                  fmt::format("found {} outside a comment", name),
                                                  "write an ordinary blank"});
}

TEST_CASE("a control character is named by its byte", "[grammar]") {
  CHECK(refusal("G1 X1\x1A") == Refusal{{5, 6},
                                        "control-character",
                                        "found the byte 0x1A, which no block holds",
                                        "it is the end-of-file mark of an old system: delete it"});
  CHECK(refusal(std::string("G1 X1\0", 6)) ==
        Refusal{{5, 6},
                "control-character",
                "found the byte 0x00, which no block holds",
                "the file was damaged on its way, or is not a program"});
  CHECK(refusal("\x7FG1") == Refusal{{0, 1},
                                     "control-character",
                                     "found the byte 0x7F, which no block holds",
                                     "the file was damaged on its way, or is not a program"});
}

TEST_CASE("an '=' that sets nothing is named where it stands", "[grammar]") {
  CHECK(refusal("G1 X10 = 5") == Refusal{{7, 8}, "equals-sign", "'=' sets only parameters, as in #1=5", ""});
}

TEST_CASE("a name with what no name may hold is named where it stands", "[grammar]") {
  CHECK(refusal("#<a(b)>=1") == Refusal{{2, 3},
                                        "name-expected",
                                        "the name holds what no name may hold",
                                        "a name stands between '<' and '>'"});
}

TEST_CASE("brackets and indirections are read to a bounded depth", "[grammar]") {
  auto const nested = [](std::size_t depth) {
    return "X" + std::string(depth, '[') + "1" + std::string(depth, ']');
  };
  CHECK(refusal(nested(64)).code == "accepted");
  CHECK(refusal(nested(65)) == Refusal{{65, 66},
                                       "nesting-too-deep",
                                       "brackets are nested more than 64 deep",
                                       "work the value out in steps, with parameters"});
  CHECK(refusal("X" + std::string(8, '#') + "1").code == "accepted");
  CHECK(refusal("X" + std::string(9, '#') + "1") ==
        Refusal{{9, 10}, "nesting-too-deep", "more than 8 '#' follow each other", ""});
}

TEST_CASE("a block of a megabyte is no block, a comment of that length is one", "[grammar]") {
  std::string const blanks(std::size_t{1} << 20, ' ');
  CHECK(refusal("G1 X[1]" + blanks) == Refusal{{0, 1},
                                               "line-too-long",
                                               "a block of 1048583 characters is no block",
                                               "the line ends of the file may be lost"});
  CHECK(refusal("(" + blanks + ")").code == "accepted");
}
