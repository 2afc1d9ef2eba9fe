// Worked examples of syntax and parameters in NISTIR 6556, read as whole blocks. The programs of appendix C.2
// and of table 10 are in rs274ngc_programs_test.cpp and rs274ngc_cycles_test.cpp.
#include "../interpret/read_program.hpp"

#include <catch2/catch.hpp>

#include <algorithm>

using namespace restep;
using test::read;

namespace {

/// Where the program ends, and what it was refused for.
motion::Vec3 end_of(std::string const& lines) {
  auto const reading = read("G21 G17 G90 G94 F100\nG0 X0 Y0 Z0\n" + lines + "\nM2\n");
  CAPTURE(lines, reading.errors());
  CHECK(reading.errors().empty());
  return reading.position;
}

} // namespace

TEST_CASE("3.3: blanks and case mean nothing, even inside a number") {
  CHECK(end_of("g0x +0. 12 34y 7") == motion::Vec3{0.1234, 7, 0});
  CHECK(end_of("G0 x\t0.1 234 Y+7.") == motion::Vec3{0.1234, 7, 0});
}

TEST_CASE("3.3.2.1: numbers with and without a point, sign and zeros") {
  CHECK(end_of("G01 X5. Y.5 Z-0") == motion::Vec3{5, 0.5, 0});
  CHECK(end_of("G1 X+01.50 Y1 Z1.0000000000000000000") == motion::Vec3{1.5, 1, 1});
}

TEST_CASE("3.3.3: a value is read before a setting of its own block takes effect") {
  CHECK(end_of("#3 = 15\n#3=6 G1 x#3") == motion::Vec3{15, 0, 0});
  CHECK(end_of("#3 = 15\n#3=6 G1 x#3\nY#3") == motion::Vec3{15, 6, 0});
}

TEST_CASE("3.3.5 and 3.3.6: of two settings of one parameter the last one counts") {
  CHECK(end_of("#3=15 #3=6\nG1 X#3").x == 6);
  CHECK(end_of("#3=6 #3=15\nG1 X#3").x == 15);
}

TEST_CASE("3.3.6: five items of a block mean the same in all 120 orders") {
  std::vector<std::string> items{"#3=15", "#4=-7.0", "(foo)", "g1", "g40"};
  int orders = 0;
  do {
    std::string block;
    for (auto const& item : items)
      block += item + " ";
    CHECK(end_of(block + "\nX#3 Y#4") == motion::Vec3{15, -7, 0});
    ++orders;
  } while (std::next_permutation(items.begin(), items.end()));
  CHECK(orders == 120);
}

TEST_CASE("3.3.4: a remark behind words") {
  auto const reading = read("G80 M5 (stop motion)\nM2\n");
  CHECK(reading.errors().empty());
  auto const remarks = reading.all<motion::Comment>();
  REQUIRE(remarks.size() == 1);
  CHECK(remarks[0].text == "stop motion");
  CHECK_FALSE(remarks[0].message);
}

TEST_CASE("3.3.4 and appendix E.2: the mark of a message may have blanks and any case") {
  for (std::string const block :
       {"(MSG, check the jaws)", "( m S g , check the jaws)", "(msg, check the jaws)"}) {
    auto const reading = read(block + "\nM2\n");
    auto const remarks = reading.all<motion::Comment>();
    REQUIRE(remarks.size() == 1);
    CHECK(remarks[0].message);
    CHECK(remarks[0].text == " check the jaws");
  }
  CHECK_FALSE(read("(A MSG, check the jaws)\nM2\n").all<motion::Comment>()[0].message);
}

TEST_CASE("3.5: any value may be an expression or a parameter") {
  for (std::string const block :
       {"G10 L2 P1 X3.5 Y17.2", "G[2*5] L[1+1] P1 X3.5 Y17.2", "G10 L#100 P1 X3.5 Y17.2"}) {
    auto const reading = read("G21 G90\n#100 = 2\n" + block + "\nM2\n");
    INFO(block);
    CHECK(reading.errors().empty());
    auto const origins = reading.all<motion::SetOrigin>();
    REQUIRE(origins.size() == 1);
    CHECK(origins[0].system == 1);
    CHECK(origins[0].origin.x == 3.5);
    CHECK(origins[0].origin.y == 17.2);
    CHECK_FALSE(motion::is_known(origins[0].origin.z));
  }
}

// The values by our own arithmetic.
TEST_CASE("3.3.2.3 and 3.3.2.4: expressions in words") {
  CHECK(end_of("G1 X[2.0 / 3 * 1.5 - 5.5 / 11.0]").x == 0.5);
  CHECK(end_of("#3=15\nG1 X[1 + acos[0] - [#3 ** [4.0/2]]]").x == -134);
  CHECK(end_of("G1 Xfix[2.8] Yfix[-2.8]") == motion::Vec3{2, -3, 0});
  CHECK(end_of("G1 Xfup[2.8] Yfup[-2.8]") == motion::Vec3{3, -2, 0});
  CHECK(end_of("G1 Xatan[2]/[1+3]").x == Approx(26.565051177).epsilon(0).margin(5e-10));
  CHECK(end_of("G1 X[2**3**2]").x == 64);
  CHECK(end_of("G1 X[1 + 0 AND 0]").x == 0);
  CHECK(end_of("#1=4 #2=5 #3=6\nG1 X[#1+#2]").x == 9);
  CHECK(end_of("#1=4 #3=6\nG1 X#[1+2]").x == 6);
  CHECK(end_of("#2=7 #7=8\nG1 X##2").x == 8);
}

TEST_CASE("3.3.2.1: a value within 0.0001 of a whole number is one") {
  CHECK(end_of("G1.00001 X1").x == 1); // ten times the code is counted
  CHECK(read("G21\nT3.0001\nM2\n").all<motion::ToolSelect>()[0].tool == 3);
  CHECK(end_of("#2.99991=4\nG1 X#3").x == 4);
}
