// Lines as they turn up in real programs, broken, and the whole answer to each: where, what, what would help.
#include "refusal.hpp"

using restep::test::Refusal;
using restep::test::refusal;

TEST_CASE("a letter O for a zero is named where it stands", "[grammar]") {
  CHECK(refusal("MO6") == Refusal{{1, 2},
                                  "letter-o-for-zero",
                                  "expected a number after 'M', found the letter O",
                                  "write the digit 0: M06"});
  CHECK(refusal("GO X0.") == Refusal{{1, 2},
                                     "letter-o-for-zero",
                                     "expected a number after 'G', found the letter O",
                                     "write the digit 0: G0"});
  CHECK(refusal("TO303") == Refusal{{1, 2},
                                    "letter-o-for-zero",
                                    "expected a number after 'T', found the letter O",
                                    "write the digit 0: T0303"});
  CHECK(refusal("NO10") == Refusal{{1, 2},
                                   "letter-o-for-zero",
                                   "expected a number after 'N', found the letter O",
                                   "write the digit 0: N010"});
  CHECK(refusal("X1O5") ==
        Refusal{{2, 3}, "letter-o-for-zero", "found the letter O inside a number", "write the digit 0"});
  CHECK(refusal("X1O") ==
        Refusal{{2, 3}, "letter-o-for-zero", "found the letter O inside a number", "write the digit 0"});
}

TEST_CASE("a number without a letter is named where it stands", "[grammar]") {
  CHECK(refusal("100 G1 X2") == Refusal{{0, 3},
                                        "number-without-letter",
                                        "the number '100' has no letter in front of it",
                                        "a line number is written N100"});
  CHECK(refusal("X1.5 2.5") == Refusal{{5, 8},
                                       "number-without-letter",
                                       "the number '2.5' has no letter in front of it",
                                       "write which word it is, as in X10"});
  CHECK(refusal("G1 [1+2]") == Refusal{{3, 4},
                                       "number-without-letter",
                                       "this value has no letter in front of it",
                                       "write which word it is, as in X[1+2]"});
}

TEST_CASE("a broken number is named where it stands", "[grammar]") {
  CHECK(refusal("X1.5.3") == Refusal{{1, 6},
                                     "two-points",
                                     "the number '1.5.3' has more than one point",
                                     "two numbers may have run together"});
  CHECK(refusal("X1-2") == Refusal{{1, 4},
                                   "broken-number",
                                   "'1-2' is no number",
                                   "a sign stands only in front; a letter may be missing"});
  CHECK(refusal("X1+2") == Refusal{{1, 4},
                                   "broken-number",
                                   "'1+2' is no number",
                                   "a sign stands only in front; a letter may be missing"});
  CHECK(refusal("X1.5E-05") ==
        Refusal{{4, 8},
                "exponent",
                "a number has no exponent in this language",
                "write the number out with its decimals; if an E word is meant, put a blank before it"});
  CHECK(refusal("X12,5") ==
        Refusal{{3, 4}, "decimal-comma", "found a comma inside a number", "write a decimal point"});
}

TEST_CASE("a letter without a number is named where it stands", "[grammar]") {
  CHECK(refusal("X Y12") == Refusal{{2, 3},
                                    "number-expected",
                                    "expected a number after 'X', found 'Y'",
                                    "write the value of X, or leave the X out"});
  CHECK(refusal("X-11.Z") == Refusal{{6, 7},
                                     "number-expected",
                                     "expected a number after 'Z', found the end of the line",
                                     "write the value of Z, or leave the Z out"});
  CHECK(refusal("G28 X") == Refusal{{5, 6},
                                    "number-expected",
                                    "expected a number after 'X', found the end of the line",
                                    "write the value of X, or leave the X out"});
  CHECK(refusal("X(1+2)") == Refusal{{1, 6},
                                     "round-brackets",
                                     "expected a number after 'X', found a comment",
                                     "expressions stand in square brackets: [...]"});
  CHECK(refusal("X (depth)") == Refusal{{2, 9},
                                        "number-expected",
                                        "expected a number after 'X', found a comment",
                                        "write the value of X, or leave the X out"});
  CHECK(refusal("X*5") == Refusal{{1, 2},
                                  "number-expected",
                                  "expected a number after 'X', found '*'",
                                  "write the value of X, or leave the X out"});
  CHECK(refusal("X- Y1") == Refusal{{1, 2},
                                    "number-expected",
                                    "expected a number after 'X', found a sign alone",
                                    "write the digits behind the sign"});
}

TEST_CASE("a place to fill in is named where it stands", "[grammar]") {
  CHECK(refusal("H__") == Refusal{{0, 3},
                                  "placeholder",
                                  "'H__' is a place to fill in, not a word",
                                  "write the number that H has on this machine"});
  CHECK(refusal("T? M6") == Refusal{{0, 2},
                                    "placeholder",
                                    "'T?' is a place to fill in, not a word",
                                    "write the number that T has on this machine"});
  for (std::string const place : {"X{width}", "X{{width}}", "X<part_2>", "X$w"})
    CHECK(refusal("G1 " + place + " Y1") == Refusal{{3, static_cast<std::uint32_t>(3 + place.size())},
                                                    "placeholder",
                                                    "'" + place + "' is a place to fill in, not a word",
                                                    "write the number that X has on this machine"});
  for (std::string const other : {"X{", "X{}", "X{w", "X<", "X<w", "X$", "X{{w}"})
    CHECK(refusal("G1 " + other).code != "placeholder");
}

TEST_CASE("an unsettled merge is named where it stands", "[grammar]") {
  CHECK(refusal("<<<<<<< HEAD") ==
        Refusal{{0, 7},
                "merge-conflict-marker",
                "found the mark of an unsettled merge, not a block",
                "two versions of this program were joined here and nobody has chosen: take the right one"});
  CHECK(refusal("=======") ==
        Refusal{{0, 7},
                "merge-conflict-marker",
                "found the mark of an unsettled merge, not a block",
                "two versions of this program were joined here and nobody has chosen: take the right one"});
  CHECK(refusal(">>>>>>> lathe") ==
        Refusal{{0, 7},
                "merge-conflict-marker",
                "found the mark of an unsettled merge, not a block",
                "two versions of this program were joined here and nobody has chosen: take the right one"});
}

TEST_CASE("a web page is named where it stands", "[grammar]") {
  CHECK(refusal("<!DOCTYPE html>") ==
        Refusal{{0, 15},
                "markup-tag",
                "found a markup tag, not a block",
                "the file was saved as a web page or document: save the program itself as plain text"});
  CHECK(refusal("  <p>G1 X1</p>") ==
        Refusal{{2, 5},
                "markup-tag",
                "found a markup tag, not a block",
                "the file was saved as a web page or document: save the program itself as plain text"});
}

TEST_CASE("another language is named where it stands", "[grammar]") {
  CHECK(refusal("TOOLDIA=6") == Refusal{{0, 8},
                                        "assignment-to-name",
                                        "'TOOLDIA' is given a value, but a name alone is no parameter",
                                        "parameters are written #1=... or #<tooldia>=..."});
  CHECK(refusal("X=10") == Refusal{{1, 2},
                                   "equals-sign",
                                   "found '=' behind the letter X",
                                   "a word is the letter and its number: X10, not X=10"});
  CHECK(refusal("DRILL(1)") ==
        Refusal{{0, 6},
                "call-of-name",
                "'DRILL(' calls something that is not here",
                "this line is of another language: post the program for a control that reads plain blocks"});
  CHECK(refusal("print \"done\"") == Refusal{{0, 5},
                                             "print-statement",
                                             "a print statement is not part of the language",
                                             "text for the operator stands in a comment: (MSG, ...)"});
  CHECK(refusal("PRINT(X)") == Refusal{{0, 5},
                                       "print-statement",
                                       "a print statement is not part of the language",
                                       "text for the operator stands in a comment: (MSG, ...)"});
  CHECK(refusal("THIS IS TEXT") == Refusal{{0, 4},
                                           "text-outside-comment",
                                           "'THIS' is text, not a word of the language",
                                           "text stands in a comment: (...)"});
  CHECK(refusal("MSG hello") == Refusal{{0, 3},
                                        "text-outside-comment",
                                        "'MSG' is text, not a word of the language",
                                        "text stands in a comment: (...)"});
}

TEST_CASE("a corner word is named where it stands", "[grammar]") {
  CHECK(refusal("G1 X10 , R 15") ==
        Refusal{{7, 13},
                "corner-word",
                "the corner word ', R 15' cannot be read",
                "post the program with its corner rounds and chamfers written out as arcs and lines"});
  CHECK(refusal("G1 X10,C1.5") ==
        Refusal{{6, 11},
                "corner-word",
                "the corner word ',C1.5' cannot be read",
                "post the program with its corner rounds and chamfers written out as arcs and lines"});
  CHECK(refusal("G1 X1, Y2") == Refusal{{5, 6}, "stray-comma", "found a comma between words", "take it out"});
}

TEST_CASE("a sign before a value that is raised to a power is named where it stands", "[grammar]") {
  CHECK(refusal("X-#1**2") ==
        Refusal{{1, 2}, "sign-before-value", "a sign belongs only to a number written out", "write X[0-#1]"});
  CHECK(refusal("X[-#1**2]") ==
        Refusal{{2, 3}, "sign-before-value", "a sign belongs only to a number written out", "write [0-#1]"});
}

TEST_CASE("a bracket is named where it stands", "[grammar]") {
  CHECK(refusal("X[1+2") == Refusal{{5, 6},
                                    "bracket-expected",
                                    "expected an operator or ']', found the end of the line",
                                    "a square bracket is not closed"});
  CHECK(refusal("X[1+2 Y3]") ==
        Refusal{{6, 7}, "bracket-expected", "expected an operator or ']', found 'Y'", ""});
  CHECK(refusal("G1 X10 ]") ==
        Refusal{{7, 8}, "bracket-without-start", "']' closes a bracket that was never opened", ""});
  CHECK(refusal("X[]") ==
        Refusal{{2, 3}, "number-expected", "expected a number, a parameter or '[', found ']'", ""});
  CHECK(refusal("X[1+]") ==
        Refusal{{4, 5}, "number-expected", "expected a number, a parameter or '[', found ']'", ""});
  CHECK(refusal("X[(1)]") == Refusal{{2, 3},
                                     "round-brackets",
                                     "expected a number, found a comment",
                                     "inside an expression too, brackets are square: [...]"});
}

TEST_CASE("a function is named where it stands", "[grammar]") {
  CHECK(refusal("g1 x asim[0.5]") ==
        Refusal{{5, 9}, "unknown-function", "there is no function 'ASIM'", "did you mean ASIN?"});
  CHECK(refusal("X SIN 30") == Refusal{{6, 7},
                                       "bracket-expected",
                                       "expected an expression in square brackets, found '3'",
                                       "what it works on stands in square brackets: [...]"});
  CHECK(refusal("X[ATAN[1]]") == Refusal{{9, 10},
                                         "second-argument-expected",
                                         "expected '/', found ']'",
                                         "ATAN takes two values: ATAN[y]/[x]"});
  CHECK(refusal("X[ATAN[1]/2]") == Refusal{{10, 11},
                                           "bracket-expected",
                                           "expected an expression in square brackets, found '2'",
                                           "what it works on stands in square brackets: [...]"});
  CHECK(refusal("X[2 + foo[1]]") ==
        Refusal{{6, 9},
                "unknown-function",
                "there is no function 'FOO'",
                "the functions are ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN"});
}

TEST_CASE("a comment is named where it stands", "[grammar]") {
  CHECK(refusal("G1 X1 (move") ==
        Refusal{{6, 11}, "unclosed-comment", "the comment is not closed", "write ')' at its end"});
  CHECK(refusal("(yoke (left) side)") ==
        Refusal{{14, 15},
                "nested-comment",
                "the comment ended at its first ')', and 'i' behind it is no word",
                "comments do not nest: take the inner parentheses out"});
  CHECK(refusal("G1 )") ==
        Refusal{{3, 4}, "stray-parenthesis", "')' closes a comment that was never opened", ""});
}

TEST_CASE("a line number is named where it stands", "[grammar]") {
  CHECK(refusal("G1 N10") == Refusal{{3, 6},
                                     "misplaced-line-number",
                                     "a line number stands only at the start of a block",
                                     "two lines may have run together"});
  CHECK(refusal("N10.5 X1") == Refusal{{1, 5},
                                       "line-number-with-point",
                                       "a line number has no decimals",
                                       "write whole numbers behind N"});
  CHECK(refusal("N-1 X1") == Refusal{{1, 2},
                                     "line-number-expected",
                                     "expected digits after 'N', found '-'",
                                     "a line number is N and digits, without a sign"});
  CHECK(refusal("N") == Refusal{{1, 2},
                                "line-number-expected",
                                "expected digits after 'N', found the end of the line",
                                "a line number is N and digits, without a sign"});
  CHECK(refusal("N#1 X1") == Refusal{{1, 2},
                                     "line-number-expected",
                                     "expected digits after 'N', found '#'",
                                     "a line number is N and digits, without a sign"});
  CHECK(refusal("N1234567890123456 X1") ==
        Refusal{{1, 17}, "line-number-too-long", "a line number this long is none", ""});
}

TEST_CASE("a block delete or percent out of place is named where it stands", "[grammar]") {
  CHECK(refusal("X1 /Y2") == Refusal{{3, 4},
                                     "misplaced-block-delete",
                                     "'/' skips a block only as its first character",
                                     "put it at the start of the line, in front of the line number"});
  CHECK(refusal("G1X1%") == Refusal{{4, 5}, "misplaced-percent", "'%' stands only on a line of its own", ""});
  CHECK(refusal("% G0") == Refusal{{2, 4},
                                   "text-after-percent",
                                   "only a comment may follow '%' on its line",
                                   "put the block on a line of its own"});
  CHECK(refusal("%1000") == Refusal{{1, 5},
                                    "text-after-percent",
                                    "only a comment may follow '%' on its line",
                                    "a program number is written O1000"});
}

TEST_CASE("an O word is named where it stands", "[grammar]") {
  CHECK(refusal("o<name>") == Refusal{{7, 8},
                                      "keyword-expected",
                                      "expected sub, call, while, if or the like, found the end of the line",
                                      "the O word only names: write what happens there, as in O<name> call"});
  CHECK(refusal("X1 O5") == Refusal{{3, 5},
                                    "misplaced-o-word",
                                    "a program number or O word stands only at the start of a block",
                                    "write it on a line of its own"});
  CHECK(refusal("ENDX1") == Refusal{{3, 4}, "number-expected", "expected a number after END, found 'X'", ""});
  CHECK(refusal("ENDIF") == Refusal{{0, 5},
                                    "keyword-without-label",
                                    "'ENDIF' needs its O word",
                                    "write the label in front: O<name> ENDIF or O100 ENDIF"});
  CHECK(refusal("O100 call (x") ==
        Refusal{{10, 12}, "unclosed-comment", "the comment is not closed", "write ')' at its end"});
  CHECK(refusal("O<name") ==
        Refusal{{2, 3}, "name-expected", "the name is not closed", "a name stands between '<' and '>'"});
}

TEST_CASE("flow is named where it stands", "[grammar]") {
  CHECK(refusal("IF [#1 EQ 1] X3") ==
        Refusal{{13, 14},
                "consequence-expected",
                "expected GOTO or THEN, found 'X'",
                "a condition alone does nothing: IF [..] GOTO 10, IF [..] THEN #1=2"});
  CHECK(refusal("WHILE [#1 LT 10] X1") ==
        Refusal{{17, 18}, "do-expected", "expected DO, found 'X'", "write WHILE [..] DO 1"});
  CHECK(refusal("GOTO") ==
        Refusal{{4, 5}, "number-expected", "expected a number after GOTO, found the end of the line", ""});
}

TEST_CASE("a parameter is named where it stands", "[grammar]") {
  CHECK(refusal("#1") == Refusal{{2, 3},
                                 "equals-expected",
                                 "expected '=', found the end of the line",
                                 "a parameter at the start of a word is set: #1=5"});
  CHECK(refusal("#1=") == Refusal{{3, 4},
                                  "number-expected",
                                  "expected a number, a parameter or '[', found the end of the line",
                                  ""});
  CHECK(refusal("#=5") == Refusal{{1, 2},
                                  "number-expected",
                                  "expected a number, a parameter or '[', found '='",
                                  "'#' begins a parameter, as in #1; comments stand in parentheses"});
  CHECK(refusal("#<>=1") ==
        Refusal{{2, 3}, "name-expected", "the name is empty", "a name stands between '<' and '>'"});
  CHECK(refusal("#1+2=3") == Refusal{{2, 3},
                                     "equals-expected",
                                     "expected '=', found '+'",
                                     "a parameter at the start of a word is set: #1=5"});
}

TEST_CASE("a checksum is named where it stands", "[grammar]") {
  CHECK(refusal("G1 X10*71") ==
        Refusal{{6, 9},
                "checksum",
                "found '*' outside an expression",
                "a checksum that a sender adds to each line is no part of the program: take it off"});
}

TEST_CASE("comments of other languages are recognised", "[grammar][broken]") {
  CHECK(refusal("# a roughing pass") ==
        Refusal{{2, 3},
                "number-expected",
                "expected a number, a parameter or '[', found 'a'",
                "'#' begins a parameter, as in #1; comments stand in parentheses"});
  for (auto const& [line, at] : {std::pair{"// roughing", 0U}, {"G0 X1 // to the shoulder", 6U}})
    CHECK(refusal(line) == Refusal{{at, static_cast<std::uint32_t>(std::string_view(line).size())},
                                   "slash-comment",
                                   "'//' begins no comment in this language",
                                   "write the comment in parentheses, or behind a semicolon"});
}

TEST_CASE("a file of two bytes for each character is recognised", "[grammar][broken]") {
  for (char const* const mark : {"\xFF\xFE", "\xFE\xFF"})
    CHECK(refusal(std::string(mark) + "%") ==
          Refusal{{0, 2},
                  "utf-16",
                  "the file is written in UTF-16, two bytes for each character",
                  "save the program as plain text, ASCII or UTF-8"});
}
