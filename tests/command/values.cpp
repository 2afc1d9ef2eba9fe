#include "command/values.hpp"

#include <catch2/catch.hpp>

using namespace restep::command;
using Catch::Matchers::Contains;

TEST_CASE("lengths carry their unit", "[values]") {
  CHECK(parse_length("1um").value() == Approx(0.001));
  CHECK(parse_length("0.02mm").value() == 0.02);
  CHECK(parse_length("0.001in").value() == Approx(0.0254));
  CHECK(parse_length("40uin").value() == Approx(0.001016));
  CHECK(parse_length(" 2 mm ").value() == 2);
}

TEST_CASE("a length without a unit is refused with what could be meant", "[values]") {
  auto const length = parse_length("0.1");
  REQUIRE_FALSE(length);
  CHECK(length.error().code == ExitCode::usage);
  CHECK_THAT(length.error().message, Contains("no unit"));
  CHECK_THAT(length.error().hint, Contains("0.1mm"));
}

TEST_CASE("what is no length is refused", "[values]") {
  for (char const* text : {"", "mm", "-1mm", "1e", "1cm", "1mm2", "nanmm", "infmm"}) {
    INFO(text);
    CHECK_FALSE(parse_length(text));
  }
}

TEST_CASE("pass lists are numbers and ranges", "[values]") {
  CHECK(parse_pass_list("1,3-5").value() == std::vector<std::size_t>{1, 3, 4, 5});
  CHECK(parse_pass_list(" 2 ").value() == std::vector<std::size_t>{2});
  CHECK(parse_pass_list("3,1-3").value() == std::vector<std::size_t>{1, 2, 3});
  for (char const* text : {"", "0", "a", "1,", "5-3", "1-", "1--2", "1-99999999"}) {
    INFO(text);
    CHECK_FALSE(parse_pass_list(text));
  }
}

TEST_CASE("a tool on the command line has a number and a shape", "[values]") {
  auto const tool = parse_numbered_tool("T3 = bull 3 r0.3").value();
  CHECK(tool.number == 3);
  CHECK(tool.diameter == 3);
  CHECK(tool.corner_radius == 0.3);
  for (char const* text : {"bull 3 r0.3", "3 = flat 6", "T = flat 6", "T3 = ", "Tx = flat 6", "T3 bull 3"}) {
    INFO(text);
    CHECK_FALSE(parse_numbered_tool(text));
  }
}
