#include "transform/transform.hpp"

#include <catch2/catch.hpp>

#include <string>
#include <vector>

using restep::transform::Stage;
using restep::transform::stages;

TEST_CASE("the stages run in one order, spindle before feeds and retracts after tool changes", "[registry]") {
  std::vector<std::string> names;
  for (Stage const& stage : stages())
    names.emplace_back(stage.name);
  CHECK(names == std::vector<std::string>{"restep", "fit-arcs", "join-lines", "edge-feeds", "clamp-spindle",
                                          "clamp-feeds", "trace-rapids", "coolant-words", "tool-change",
                                          "tool-numbers", "spindle-start", "reference-moves", "safe-retracts",
                                          "replace-words", "control-lines", "program-frame"});
}

TEST_CASE("every stage has a summary and a maker", "[registry]") {
  for (Stage const& stage : stages()) {
    CHECK_FALSE(stage.summary.empty());
    CHECK(stage.make != nullptr);
  }
}

TEST_CASE("only what a program need not have waits until it is asked for", "[registry]") {
  for (Stage const& stage : stages())
    CHECK(stage.on_request ==
          (stage.name == "fit-arcs" || stage.name == "join-lines" || stage.name == "edge-feeds"));
}
