#include "cutter/finish_target.hpp"
#include "shapes.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

using namespace restep::cutter;
using Catch::Matchers::Contains;

TEST_CASE("a finish is read with its kind and its limit in mm") {
  struct Case {
    char const* text;
    FinishKind kind;
    double limit;
  };
  auto const c = GENERATE(
      Case{"cusp:1um", FinishKind::cusp, 1e-3}, Case{"ra:0.4um", FinishKind::ra, 0.4e-3},
      Case{"rz:1.6um", FinishKind::rz, 1.6e-3}, Case{"CUSP:0.002mm", FinishKind::cusp, 2e-3},
      Case{"Ra: 32uin", FinishKind::ra, 32 * 25.4e-6}, Case{"cusp:0.0001in", FinishKind::cusp, 2.54e-3},
      Case{"cusp:1 \xc2\xb5m", FinishKind::cusp, 1e-3}, Case{"cusp:1\xce\xbcm", FinishKind::cusp, 1e-3},
      Case{"n5", FinishKind::ra, 0.4e-3}, Case{"N12", FinishKind::ra, 50e-3},
      Case{" n1 ", FinishKind::ra, 0.025e-3});
  INFO(c.text);
  auto const target = parse_finish(c.text);
  REQUIRE(target);
  CHECK(target->kind == c.kind);
  CHECK(target->limit == Approx(c.limit).epsilon(1e-14));
}

TEST_CASE("the grades are those of ISO 1302:1992") {
  double const ra_um[] = {0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50};
  for (int n = 1; n <= 12; ++n)
    CHECK(parse_finish(fmt::format("n{}", n))->limit == Approx(ra_um[n - 1] / 1000).epsilon(1e-14));
}

TEST_CASE("the target keeps the user's words") {
  CHECK(parse_finish(" Ra:0.4um ")->text == "Ra:0.4um");
  CHECK(parse_finish("N5")->text == "N5");
}

TEST_CASE("a finish that makes no sense is refused with what would help") {
  struct Case {
    char const *text, *says;
  };
  auto const c = GENERATE(
      Case{"", "write a finish as"}, Case{"cusp", "figure is missing"}, Case{"cusp:", "missing"},
      Case{"cusp:1", "has no unit"}, Case{"cups:1um", "did you mean 'cusp'"}, Case{"n0", "N1 to N12"},
      Case{"n13", "N1 to N12"}, Case{"n5x", "N1 to N12"}, Case{"ra:0um", "above 0"},
      Case{"ra:-1um", "above 0"}, Case{"ra:1um 2", "too much"}, Case{"ra:1m", "not a unit"},
      Case{"ra:0,4um", "point, not a comma"}, Case{"roughness:1um", "write a finish as"},
      Case{"cusp:nan um", "not a length"}, Case{"rz:1e999um", ""});
  INFO(c.text);
  auto const target = parse_finish(c.text);
  REQUIRE_FALSE(target);
  CHECK_THAT(target.error(), Contains(c.says));
}

TEST_CASE("the figure of a target is the cusp for cusp and Rz, the mean deviation for Ra") {
  using namespace restep::cutter::shapes;
  Piece const piece = plane(60, 0.2);
  Meridian const m = meridian({piece});
  Tool const tool = end_mill(0.5);
  double const h = cusp_height(tool, m, piece.from, piece.to);
  CHECK(finish_figure(*parse_finish("cusp:1um"), tool, m, piece.from, piece.to) == Approx(h).epsilon(1e-12));
  CHECK(finish_figure(*parse_finish("rz:1um"), tool, m, piece.from, piece.to) == Approx(h).epsilon(1e-12));
  CHECK(finish_figure(*parse_finish("n5"), tool, m, piece.from, piece.to) ==
        Approx(0.2566 * h).epsilon(0.01));
}
