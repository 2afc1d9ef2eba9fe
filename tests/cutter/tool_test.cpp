#include "cutter/tool.hpp"

#include <catch2/catch.hpp>

using namespace restep::cutter;
using Catch::Matchers::Contains;

TEST_CASE("a tool in words is read with its diameter and corner radius") {
  struct Case {
    char const* text;
    ToolKind kind;
    double diameter, corner;
  };
  auto const c =
      GENERATE(Case{"flat 6", ToolKind::flat, 6, 0}, Case{"ball 3", ToolKind::ball, 3, 1.5},
               Case{"bull 3 r0.3", ToolKind::bull, 3, 0.3}, Case{"drill 2.5", ToolKind::drill, 2.5, 0},
               Case{"  Bull 3mm  R 0.3 mm ", ToolKind::bull, 3, 0.3},
               Case{"bull 0.125in r0.01in", ToolKind::bull, 3.175, 0.254},
               Case{"FLAT6", ToolKind::flat, 6, 0}, Case{"bull 3r0.3", ToolKind::bull, 3, 0.3},
               Case{"bull 3 r1.5", ToolKind::ball, 3, 1.5}, Case{"flat .5", ToolKind::flat, 0.5, 0});
  INFO(c.text);
  auto const tool = parse_tool(c.text);
  REQUIRE(tool);
  CHECK(tool->kind == c.kind);
  CHECK(tool->diameter == Approx(c.diameter).epsilon(1e-14));
  CHECK(tool->corner_radius == Approx(c.corner).epsilon(1e-14));
}

TEST_CASE("a tool that makes no sense is refused with what would help") {
  struct Case {
    char const *text, *says;
  };
  auto const c = GENERATE(
      Case{"", "empty"}, Case{"flt 6", "did you mean 'flat'"}, Case{"bal 3", "did you mean 'ball'"},
      Case{"lathe 6", "write a tool as"}, Case{"6", "write a tool as"}, Case{"flat", "missing"},
      Case{"flat x", "not a length"}, Case{"flat 0", "above 0"}, Case{"flat -6", "above 0"},
      Case{"flat 6,5", "point, not a comma"}, Case{"bull 3", "needs its corner radius"},
      Case{"bull 3 r0", "above 0"}, Case{"bull 3 r2", "does not fit"}, Case{"ball 3 r1", "belongs to a bull"},
      Case{"flat 6 furlongs", "not a unit"}, Case{"flat 6 7", "too much"}, Case{"flat 6mm x", "too much"},
      Case{"flat nan", "not a length"}, Case{"flat inf", "not a length"}, Case{"bull 3 rx", "not a length"});
  INFO(c.text);
  auto const tool = parse_tool(c.text);
  REQUIRE_FALSE(tool);
  CHECK_THAT(tool.error(), Contains(c.says));
}

TEST_CASE("a described tool is read back as the same tool") {
  for (char const* text : {"flat 6", "ball 3", "bull 3 r0.3", "drill 2.5", "bull 3.175 r0.254", "other 12"}) {
    auto const tool = parse_tool(text);
    REQUIRE(tool);
    CHECK(describe(*tool) == text);
  }
  CHECK(describe(*parse_tool("bull 0.125in r0.01in")) == "bull 3.175 r0.254");
}

TEST_CASE("only shapes whose cusps are known can finish") {
  CHECK(parse_tool("flat 6")->can_finish());
  CHECK(parse_tool("ball 3")->can_finish());
  CHECK(parse_tool("bull 3 r0.3")->can_finish());
  CHECK_FALSE(parse_tool("drill 3")->can_finish());
  CHECK_FALSE(parse_tool("other 3")->can_finish());
  Tool tool = *parse_tool("ball 3");
  tool.corner_radius = 1;
  CHECK_FALSE(tool.can_finish());
  tool = *parse_tool("bull 3 r0.3");
  tool.taper = 3;
  CHECK(tool.can_finish());
  tool = *parse_tool("flat 6");
  tool.taper = 3;
  CHECK_FALSE(tool.can_finish());
  CHECK_FALSE(Tool{}.can_finish());
}

TEST_CASE("the last tool of a number counts") {
  ToolTable table;
  Tool tool = *parse_tool("flat 6");
  tool.number = 3;
  table.add(tool);
  tool = *parse_tool("ball 4");
  tool.number = 3;
  table.add(tool);
  REQUIRE(table.find(3) != nullptr);
  CHECK(table.find(3)->kind == ToolKind::ball);
  CHECK(table.all().size() == 1);
  CHECK(table.find(4) == nullptr);
}
