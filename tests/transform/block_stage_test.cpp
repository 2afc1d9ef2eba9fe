#include "steps.hpp"
#include "transform/block_stage.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;

namespace {

/// Puts a dwell before every rapid and leaves tool numbers out.
class Dwells final : public BlockStage {
public:
  using BlockStage::BlockStage;

private:
  void handle(std::span<Step> block) override {
    for (Step const& step : block) {
      if (motion_of(step)) insert(motion::Dwell{1}, step);
      if (!std::holds_alternative<motion::ToolSelect>(step.event)) keep(step, !only_prepares(step.event));
    }
  }
};

std::vector<Step> dwelled(Program const& program) {
  ListSource source(program.steps);
  Dwells stage(source);
  std::vector<Step> out;
  Step step;
  while (stage.next(step))
    out.push_back(step);
  return out;
}

} // namespace

TEST_CASE("a block that only gets a step before it stays whole and untouched", "[block-stage]") {
  Program program;
  motion::Motion const move = program.move(motion::PathKind::rapid, {1, 2, 3}, 0);
  program.block({motion::SpindleSpeed{500}, move});
  auto const out = dwelled(program);
  REQUIRE(out.size() == 3);
  CHECK(std::holds_alternative<motion::Dwell>(out[0].event));
  CHECK(out[0].generated);
  CHECK(out[0].place == program.steps[0].place);
  CHECK(out[1].first_in_block);
  CHECK_FALSE(out[1].last_in_block);
  CHECK_FALSE(out[1].touched);
  CHECK_FALSE(out[2].touched);
}

TEST_CASE("a block that gets a step in its middle becomes two touched blocks", "[block-stage]") {
  Program program;
  motion::Motion const move = program.move(motion::PathKind::rapid, {1, 2, 3}, 0);
  program.block({motion::WorkOffset{1}, move});
  auto const out = dwelled(program);
  REQUIRE(out.size() == 3);
  CHECK(std::holds_alternative<motion::WorkOffset>(out[0].event));
  for (Step const& step : out) {
    CHECK(step.first_in_block);
    CHECK(step.last_in_block);
    CHECK(step.touched != step.generated);
  }
}

TEST_CASE("a block that loses a step is touched and keeps its ends", "[block-stage]") {
  Program program;
  program.block({motion::ToolSelect{4}, motion::SpindleSpeed{500}, motion::Dwell{2}});
  auto const out = dwelled(program);
  REQUIRE(out.size() == 2);
  CHECK(out[0].first_in_block);
  CHECK(out[1].last_in_block);
  CHECK(out[0].touched);
  CHECK(out[1].touched);
}

TEST_CASE("an empty stream stays empty and a block that loses everything vanishes", "[block-stage]") {
  CHECK(dwelled(Program{}).empty());
  Program program;
  program(motion::ToolSelect{4})(motion::SpindleSpeed{500});
  CHECK(dwelled(program).size() == 1);
}
