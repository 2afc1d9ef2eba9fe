// What a program means does not hang on how it is written: case, blanks, block numbers, remarks (NISTIR
// 6556, 3.3).
#include "random_language.hpp"
#include "told.hpp"

#include <catch2/catch.hpp>

#include <sstream>

using namespace restep;
using namespace restep::property;

namespace {

/// Changes what stands outside remarks, character by character.
template <class Change>
std::string changed(std::string const& program, Change change) {
  std::string text;
  bool remark = false, to_the_end = false;
  for (char const c : program) {
    if (c == '\n') remark = to_the_end = false;
    if (!remark && (c == '(' || c == ';')) {
      remark = true;
      to_the_end = c == ';';
    }
    text += remark || c == '\n' ? std::string(1, c) : change(c);
    if (c == ')' && !to_the_end) remark = false;
  }
  return text;
}

std::string in_any_case(std::string const& program) {
  return changed(program, [](char c) {
    auto const byte = static_cast<unsigned char>(c);
    return std::string(1, static_cast<char>(draw(0, 2) == 0 ? std::tolower(byte) : std::toupper(byte)));
  });
}

/// Inside numbers, words of operators and names too.
std::string with_blanks(std::string const& program) {
  return changed(program, [](char c) {
    int const kind = draw(0, 6);
    return (kind == 0 ? " " : kind == 1 ? "\t" : "") + std::string(1, c);
  });
}

std::string without_blanks(std::string const& program) {
  return changed(program, [](char c) { return c == ' ' ? std::string() : std::string(1, c); });
}

std::string numbered(std::string const& program) {
  std::istringstream lines(program);
  std::string text;
  for (std::string line; std::getline(lines, line);) {
    bool const free = line.empty() || (line[0] != 'N' && line[0] != '/' && line[0] != '%');
    text += (free ? fmt::format("N{}", draw(0, 99999)) : std::string()) + " " + line + "(arbor)\n";
  }
  return text;
}

bool same(double a, double b) {
  return a == b || (std::isnan(a) && std::isnan(b));
}

template <class Rewrite>
void check(Rewrite rewrite) {
  CHECK(holds_often(500, [&] {
    ReferenceControl const control;
    auto const program = LanguageProgrammer(control, true).program(draw(1, 40));
    auto const other = rewrite(program);
    auto const one = acts_of(program, control), two = acts_of(other, control);
    RC_ASSERT(one.size() == two.size());
    for (std::size_t i = 0; i < one.size(); ++i)
      if (one[i].what != two[i].what || !std::equal(one[i].values.begin(), one[i].values.end(),
                                                    two[i].values.begin(), two[i].values.end(), same))
        RC_FAIL(program + "--- and ---\n" + other);
  }));
}

} // namespace

TEST_CASE("A program means the same in any case") {
  check(in_any_case);
}

TEST_CASE("A program means the same with blanks anywhere, inside numbers and names too") {
  check(with_blanks);
}

TEST_CASE("A program means the same without blanks") {
  check(without_blanks);
}

TEST_CASE("A program means the same with any block numbers and remarks") {
  check(numbered);
}
