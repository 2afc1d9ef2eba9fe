#include "text/finding.hpp"

#include <catch2/catch.hpp>

#include <string>

using namespace restep::text;

namespace {

Findings one(std::string const& line, Span span, std::string hint = "") {
  Findings findings;
  findings.add(Severity::error, "number-expected", "expected a number, found 'Y'", std::move(hint),
               Place{0, 0, 412}, line, span);
  return findings;
}

std::string shown(std::string const& line, Span span, std::string hint = "") {
  return format(one(line, span, std::move(hint)).all().front(), "part.nc");
}

std::string line_of(std::string const& text, int number) {
  std::size_t begin = 0;
  for (int i = 0; i < number; ++i)
    begin = text.find('\n', begin) + 1;
  return text.substr(begin, text.find('\n', begin) - begin);
}

} // namespace

TEST_CASE("a finding is shown with place, message, line, caret and help", "[text]") {
  CHECK(shown("N4120 G1 X Y12.5", {11, 12}, "write the X coordinate, or leave the X out") ==
        "part.nc:412:12: error: expected a number, found 'Y'\n"
        "N4120 G1 X Y12.5\n"
        "           ^\n"
        "  help: write the X coordinate, or leave the X out\n");
}

TEST_CASE("the whole span is underlined", "[text]") {
  CHECK(line_of(shown("G1 X12.5.3", {3, 10}), 2) == "   ^~~~~~~");
}

TEST_CASE("a caret behind the end of the line is shown there", "[text]") {
  CHECK(shown("G1 X", {4, 4}) == "part.nc:412:5: error: expected a number, found 'Y'\nG1 X\n    ^\n");
}

TEST_CASE("a caret on an empty line is shown at its start", "[text]") {
  CHECK(shown("", {0, 0}) == "part.nc:412:1: error: expected a number, found 'Y'\n\n^\n");
}

TEST_CASE("a finding about a block without text shows no line", "[text]") {
  Findings findings;
  findings.add(Severity::warning, "feed-clamped", "feed lowered to 500 mm/min", "", Place{10, 5, 7});
  CHECK(format(findings.all().front(), "part.nc") == "part.nc:7: warning: feed lowered to 500 mm/min\n");
}

TEST_CASE("a finding that is nowhere in the program names only the program", "[text]") {
  Findings findings;
  findings.add(Severity::note, "no-end", "the program has no M2 or M30", "", Place{});
  CHECK(format(findings.all().front(), "part.nc") == "part.nc: note: the program has no M2 or M30\n");
}

TEST_CASE("the caret stands right below tabs, control characters, foreign bytes and accents", "[text]") {
  CHECK(line_of(shown("\tG1\tX Y2", {6, 7}), 1) == " G1 X Y2");
  CHECK(line_of(shown("\tG1\tX Y2", {6, 7}), 2) == "      ^");
  CHECK(line_of(shown("(\x1B[2J) Y", {7, 8}), 1) == "(\\x1B[2J) Y");
  CHECK(line_of(shown("(\x1B[2J) Y", {7, 8}), 2) == "          ^");
  CHECK(line_of(shown("(\xE9) Y", {4, 5}), 1) == "(\\xE9) Y");
  CHECK(line_of(shown("(\xE9) Y", {4, 5}), 2) == "       ^");
  CHECK(line_of(shown("(d\xC3\xA9) Y", {6, 7}), 1) == "(d\xC3\xA9) Y");
  CHECK(line_of(shown("(d\xC3\xA9) Y", {6, 7}), 2) == "     ^");
}

TEST_CASE("nothing that a program holds reaches the terminal as a control character", "[text]") {
  std::string every;
  for (int byte = 0; byte < 256; ++byte)
    every += static_cast<char>(byte);
  for (char const shown_byte : printable(every + "\xE2\x80\xAE\xC2\x9B"))
    CHECK((static_cast<unsigned char>(shown_byte) >= 0x20 && shown_byte != 0x7F));
  CHECK(printable("\xE2\x80\xAE\xC2\x9B") == "\\u202E\\u009B");
  CHECK(printable("\xC0\x80\xED\xA0\x80") == "\\xC0\\x80\\xED\\xA0\\x80");
}

TEST_CASE("of a long line only what stands around the caret is shown", "[text]") {
  std::string const line = std::string(3000, 'a') + "!" + std::string(3000, 'b');
  auto const findings = one(line, {3000, 3001});
  Finding const& finding = findings.all().front();
  CHECK(finding.column == 3001);
  CHECK(finding.line_text.size() <= 120);
  CHECK(finding.line_text[finding.column - 1 - finding.cut] == '!');
  std::string const text = format(finding, "part.nc");
  CHECK(line_of(text, 2).size() == line_of(text, 1).find('!') + 1);
}

TEST_CASE("a long line is never cut inside a character", "[text]") {
  std::string line;
  for (int i = 0; i < 400; ++i)
    line += "\xC3\xA9";
  for (std::uint32_t at = 0; at < 800; at += 2)
    CHECK(one(line, {at, at + 2}).all().front().line_text.find("\\x") == std::string::npos);
  CHECK(shown(line, {401, 402}).find("\\x") == std::string::npos);
}

TEST_CASE("of one code only so many findings are kept and the rest is counted", "[text]") {
  Findings findings(3);
  for (int i = 0; i < 10; ++i)
    findings.add(Severity::warning, "feed-clamped", "lower", "", Place{});
  findings.add(Severity::error, "no-tool", "no tool", "", Place{});
  CHECK(findings.all().size() == 4);
  CHECK(findings.left_out("feed-clamped") == 7);
  CHECK(findings.left_out("no-tool") == 0);
  CHECK(findings.left_out("never-made") == 0);
  CHECK(findings.count(Severity::warning) == 10);
  CHECK(findings.has_errors());
}

TEST_CASE("findings of two runs count as those of one", "[text]") {
  Findings all(3), first(3), second(3);
  for (int i = 0; i < 12; ++i) {
    std::string const code = i % 4 == 0 ? "feed-clamped" : i < 6 ? "no-tool" : "chip-thin";
    Severity const severity = i % 4 == 0 ? Severity::note : Severity::warning;
    for (Findings* findings : {&all, i < 5 ? &first : &second})
      findings->add(severity, code, std::to_string(i), "", Place{});
  }
  first.add(second);
  REQUIRE(first.all().size() == all.all().size());
  for (std::size_t i = 0; i < all.all().size(); ++i)
    CHECK(first.all()[i].message == all.all()[i].message);
  for (char const* code : {"feed-clamped", "no-tool", "chip-thin"})
    CHECK(first.left_out(code) == all.left_out(code));
  for (Severity const severity : {Severity::note, Severity::warning, Severity::error})
    CHECK(first.count(severity) == all.count(severity));
}
