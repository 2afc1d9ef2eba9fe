// Conditions, jumps and loops whose values are known.
#include "read_program.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using test::read;

namespace {

/// Where X stops, move by move, or the errors.
std::string stops(std::string const& program) {
  auto const reading = read("G0 X0 Y0 Z0\n" + program + "M30\n");
  std::string list;
  for (auto const& error : reading.errors())
    list += error + "\n";
  for (std::size_t i = 1; i < reading.motions().size(); ++i)
    list += fmt::format("{}{:.6g}", i == 1 ? "" : " ", reading.motions()[i].to.x);
  return list;
}

std::string first_code(std::string const& program) {
  auto const codes = read(program).error_codes();
  return codes.empty() ? "none" : codes.front();
}

} // namespace

TEST_CASE("IF ... THEN sets a parameter when its condition holds") {
  CHECK(stops("#1=1\nIF [#1 EQ 1] THEN #1=5\nG0 X#1\n") == "5");
  CHECK(stops("#1=1\nIF [#1 GT 1] THEN #1=5\nG0 X#1\n") == "1");
}

TEST_CASE("IF ... GOTO jumps when its condition holds") {
  CHECK(stops("#1=1\nIF [#1 EQ 1] GOTO 20\nG0 X1\nN20 G0 X2\n") == "2");
  CHECK(stops("#1=1\nIF [#1 NE 1] GOTO 20\nG0 X1\nN20 G0 X2\n") == "1 2");
}

TEST_CASE("GOTO jumps forward and backward") {
  CHECK(stops("#1=0\nN10 #1=[#1+1]\nG0 X#1\nIF [#1 LT 3] GOTO 10\n") == "1 2 3");
  CHECK(stops("GOTO[10+10]\nG0 X1\nN20 G0 X2\n") == "2");
}

TEST_CASE("A jump stays in its own program") {
  auto const reading = read("N10 G0 X0\nM98 P1\nM30\nO1\nGOTO 10\nG0 X1\nN10 G0 X2\nM99\n");
  CHECK(reading.errors().empty());
  CHECK(reading.motions().size() == 2);
}

TEST_CASE("WHILE runs its blocks as long as its condition holds") {
  CHECK(stops("#1=3\nWHILE [#1 GT 0] DO 1\nG0 X#1\n#1=[#1-1]\nEND 1\nG0 X9\n") == "3 2 1 9");
  CHECK(stops("#1=0\nWHILE [#1 GT 0] DO 1\nG0 X#1\nEND 1\nG0 X9\n") == "9");
}

TEST_CASE("Loops nest") {
  CHECK(stops("#1=0\nWHILE [#1 LT 2] DO1\n#2=0\nWHILE [#2 LT 2] DO2\nG0 X[#1*10+#2]\n#2=[#2+1]\nEND2\n"
              "#1=[#1+1]\nEND1\n") == "0 1 10 11");
}

TEST_CASE("A loop may be left by a jump, and begun again") {
  CHECK(stops("#1=0\nN5 WHILE [#1 LT 4] DO1\n#1=[#1+1]\nG0 X#1\nIF [#1 EQ 2] GOTO 9\nEND1\nN9 G0 X50\n"
              "IF [#1 LT 4] GOTO 5\n") == "1 2 50 3 4 50");
  CHECK(stops("DO1\nG0 X1\nGOTO 9\nEND1\nN9 G0 X50\n") == "1 50");
}

TEST_CASE("o-word subprograms take values and are skipped where they stand") {
  CHECK(stops("o100 sub\nG0 X[#1+#2]\no100 endsub\nG0 X1\no100 call [3] [4]\n") == "1 7");
  CHECK(stops("o<bezel> sub\nG0 X#1\no<bezel> endsub\no<bezel> call [2]\n") == "2");
}

TEST_CASE("A subprogram with a label may end early") {
  CHECK(stops("o1 sub\nG0 X1\no2 if [#1 GT 0]\no1 return\no2 endif\nG0 X2\no1 endsub\no1 call [1]\n"
              "G0 X9\no1 call [0]\n") == "1 9 1 2");
}

TEST_CASE("The numbered parameters up to 30 and plain names belong to the subprogram with the label") {
  CHECK(stops("o1 sub\n#1=[#1+1]\n#31=#1\n#<d>=8\n#<_e>=9\no1 endsub\n#1=5\n#<d>=6\no1 call [1]\n"
              "G0 X#1\nG0 X#31\nG0 X#<d>\nG0 X#<_e>\n") == "5 2 6 9");
}

TEST_CASE("o-word if takes the first branch whose condition holds") {
  std::string const branches =
      "o1 if [#1 EQ 1]\nG0 X1\no1 elseif [#1 EQ 2]\nG0 X2\no1 else\nG0 X3\no1 endif\n";
  CHECK(stops("#1=1\n" + branches) == "1");
  CHECK(stops("#1=2\n" + branches) == "2");
  CHECK(stops("#1=7\n" + branches) == "3");
  CHECK(stops("#1=7\no1 if [#1 EQ 1]\nG0 X1\no1 endif\nG0 X4\n") == "4");
}

TEST_CASE("o-word loops run while, until and so many times") {
  CHECK(stops("#1=0\no1 while [#1 LT 3]\n#1=[#1+1]\nG0 X#1\no1 endwhile\n") == "1 2 3");
  CHECK(stops("#1=9\no1 do\n#1=[#1+1]\nG0 X#1\no1 while [#1 LT 3]\nG0 X0\n") == "10 0");
  CHECK(stops("#1=0\no1 do\n#1=[#1+1]\nG0 X#1\no1 while [#1 LT 3]\n") == "1 2 3");
  CHECK(stops("#1=0\no1 repeat [3]\n#1=[#1+1]\nG0 X#1\no1 endrepeat\n") == "1 2 3");
  CHECK(stops("o1 repeat [0]\nG0 X1\no1 endrepeat\nG0 X2\n") == "2");
}

TEST_CASE("A loop that is begun again counts again") {
  CHECK(stops("o1 repeat [2]\no2 repeat [2]\nG0 X1\no2 endrepeat\nG0 X5\no1 endrepeat\n") == "1 1 5 1 1 5");
}

TEST_CASE("break leaves a loop and continue begins its next turn") {
  CHECK(
      stops("#1=0\no1 while [#1 LT 9]\n#1=[#1+1]\no2 if [#1 EQ 3]\no1 break\no2 endif\nG0 X#1\no1 endwhile\n"
            "G0 X50\n") == "1 2 50");
  CHECK(stops("#1=0\no1 while [#1 LT 3]\n#1=[#1+1]\no2 if [#1 EQ 2]\no1 continue\no2 endif\nG0 X#1\n"
              "o1 endwhile\n") == "1 3");
  CHECK(stops("#1=0\no1 repeat [3]\n#1=[#1+1]\no2 if [#1 EQ 2]\no1 continue\no2 endif\nG0 X#1\n"
              "o1 endrepeat\n") == "1 3");
}

TEST_CASE("Program marks that lead nowhere are refused by name") {
  CHECK(first_code("GOTO 20\nM30\n") == "jump-target-missing");
  CHECK(first_code("N5 G0 X0\nN5 G0 X1\nGOTO 5\nM30\n") == "jump-target-twice");
  CHECK(first_code("#1=0\nWHILE [#1 EQ 0] DO 1\nM30\n") == "loop-not-closed");
  CHECK(first_code("END 1\nM30\n") == "loop-not-begun");
  CHECK(first_code("o1 sub\nM30\n") == "label-without-partner");
  CHECK(first_code("o1 endsub\nM30\n") == "return-without-call");
  CHECK(first_code("o1 if [1 EQ 0]\nM30\n") == "label-without-partner");
  CHECK(first_code("o1 break\nM30\n") == "label-without-partner");
  CHECK(first_code("o1 while\nM30\n") == "condition-expected");
  CHECK(first_code("o1 sub\no1 endsub\no1 sub\no1 endsub\no1 call\nM30\n") == "subprogram-twice");
  CHECK(first_code("GOTO 1.5\nM30\n") == "whole-number-expected");
}

TEST_CASE("A condition with an unknown value is refused: nobody knows which blocks run") {
  CHECK(
      read("IF [#500 EQ 1] GOTO 10\nN10 M30\n").error() ==
      "1:5+4 unknown-parameter: the value of #500 is not known: the program has not set it, and the control "
      "may still hold one from earlier work; which blocks run depends on it | set it in the program before "
      "it "
      "is used");
  CHECK(first_code("WHILE [#500 EQ 1] DO 1\nG0 X1\nEND 1\nM30\n") == "unknown-parameter");
  CHECK(read("WHILE [#500 EQ 1] DO 1\nG0 X1\nEND 1\nM30\n").error_codes().size() == 1);
}

TEST_CASE("A loop without an end is refused after ten million blocks") {
  CHECK(interpret::ReadRules{}.most_blocks == 10'000'000);
  interpret::ReadRules rules;
  rules.most_blocks = 1000;
  CHECK(
      read("WHILE [1 EQ 1] DO 1\nEND 1\nM30\n", rules).error() ==
      "2:1+5 too-many-blocks: 1000 blocks were executed, and the program has no end yet: a loop may run for "
      "ever | check the conditions of its loops and jumps; a program that really is this long needs a "
      "dialect with more most_blocks");
}

TEST_CASE("A loop without an end in a subprogram is the only error of its program") {
  interpret::ReadRules rules;
  rules.most_blocks = 100;
  CHECK(read("M98 P1\nM30\nO1\nDO 1\nEND 1\nM99\n", rules).error_codes() ==
        std::vector<std::string>{"too-many-blocks"});
}

TEST_CASE("A loop that goes on for ever because a line in it was refused is left without a word") {
  CHECK(read("#1=0\nWHILE [#1 LT 3] DO 1\n#1=#1+[\nEND 1\nM30\n").error_codes().size() == 1);
}

TEST_CASE("Flow words stand alone in their blocks") {
  CHECK(first_code("#1=0 WHILE [#1 EQ 0] DO 1\nEND 1\nM30\n") == "flow-beside-words");
  CHECK(first_code("G0 X1 GOTO 5\nN5 M30\n") == "flow-beside-words");
  CHECK(first_code("/GOTO 5\nN5 M30\n") == "optional-flow");
  CHECK(first_code("N5 GOTO 6 (skip)\nN6 M30\n") == "none");
}

TEST_CASE("A loop that leads back to a refused line does not refuse it again") {
  CHECK(read("#1=0 WHILE [#1 EQ 0] DO 1\nEND 1\nM30\n").error_codes() ==
        std::vector<std::string>{"flow-beside-words"});
}

TEST_CASE(
    "What a refused block would have set is not known, and what follows from that is not refused as well") {
  // Read on with the old value, the loop would have no end.
  CHECK(read("#1=0\nWHILE [#1 LT 3] DO 1\nG0 X#1\n#1=[#1+1\nEND 1\nM30\n").error_codes() ==
        std::vector<std::string>{"bracket-expected"});
  CHECK(read("G0 X0 Y0 Z0 F100\n#2=[1\n#<depth>=FIX\n#3=#2+1\nG1 Z#3 F#2\nG2 X#2 I#3\nIF [#3 GT 1] GOTO 9\n"
             "G1 Z#<depth>\nN9 M30\n")
            .error_codes() == std::vector<std::string>{"bracket-expected", "bracket-expected"});
  CHECK(read("#2=[1\n#2=4\nG0 X#2 Y#9 F#9\nM30\n").error_codes() ==
        std::vector<std::string>{"bracket-expected", "unknown-parameter"});
  CHECK(read("#1=0\nWHILE [#1 LT 3] DO 1\n#1=[#1+1] Q5\nEND 1\nM30\n").error_codes() ==
        std::vector<std::string>{"word-without-user"});
  for (auto const& code : read("#2=[1\nG0 X#2\nM30\n").error_codes())
    CHECK(code != "lost-parameter");
}

TEST_CASE("The standard alone has no jumps") {
  interpret::ReadRules rules;
  rules.strict_layout = true;
  CHECK(read("GOTO 5\nN5 M30\n", rules).error_codes().front() == "flow-not-in-standard");
  CHECK(read("M98 P1\nM30\n", rules).error_codes().front() == "subprogram-call");
  CHECK(read("G65 P1\nM30\n", rules).error_codes().front() == "not-in-standard");
}

TEST_CASE("Blocks behind a jump are not copied where they stood before") {
  auto const reading = read("G0 X0\n#1=0\nN10 #1=[#1+1]\nG0 X#1\nIF [#1 LT 2] GOTO 10\nG0 X5\nM30\n");
  std::string touched;
  for (auto const& step : reading.steps)
    if (motion::motion_of(step)) touched += step.touched ? "t" : "-";
  CHECK(touched == "--t-");
}

TEST_CASE("Every kind of line end is found again") {
  for (std::string const end : {"\n", "\r\n", "\r"}) {
    std::string program = "#1=0\nN10 #1=[#1+1]\n\nG0 X#1\nIF [#1 LT 3] GOTO 10\nG0 X50\nM30";
    for (std::size_t at = 0; (at = program.find('\n', at)) != std::string::npos; at += end.size())
      program.replace(at, 1, end);
    auto const reading = read("\xEF\xBB\xBF" + program);
    CHECK(reading.errors().empty());
    CHECK(reading.motions().size() == 4);
    CHECK(reading.steps.back().place.line == 7);
  }
}

TEST_CASE("Lines far apart are found again") {
  std::string program = "#1=0\nN10 #1=[#1+1]\n";
  for (int i = 0; i < 60'000; ++i)
    program += "(clock bezel, spoke by spoke)\r\n";
  program += "IF [#1 LT 3] GOTO 10\nG0 X#1\nM30\n";
  auto const reading = read(program);
  CHECK(reading.errors().empty());
  CHECK(reading.position.x == 3);
}
