#include "report/json.hpp"

#include "tests/report/report_help.hpp"

#include <catch2/catch.hpp>

#include <limits>

using namespace restep;
using nlohmann::ordered_json;

TEST_CASE("numbers are rounded to the digits that mean something", "[json]") {
  CHECK(report::micrometres(0.123456).dump() == "0.123");
  CHECK(report::millimetres(1.23456789).dump() == "1.234568");
  CHECK(report::millimetres(-1e-9).dump() == "0.0");
}

TEST_CASE("a number that is none is null", "[json]") {
  CHECK(report::micrometres(std::numeric_limits<double>::quiet_NaN()).is_null());
  CHECK(report::millimetres(std::numeric_limits<double>::infinity()).is_null());
}

TEST_CASE("a report without any motion has no extents and holds no infinity", "[json]") {
  report::ProgramReport const empty;
  ordered_json const json = report::to_json(empty);
  CHECK(json["extents"]["cutting"].is_null());
  CHECK(json["proof"].is_null());
  CHECK(json["machine"].is_null());
  CHECK(json["output"].is_null());
  CHECK_NOTHROW(ordered_json::parse(json.dump()));
}

TEST_CASE("the report's fields carry the promised names", "[json]") {
  ordered_json const json = report::to_json(report::example());
  for (char const* name : {"program", "machine", "passes", "feeds", "retracts", "edits", "findings", "proof",
                           "time_s", "output"})
    CHECK(json.contains(name));
  ordered_json const& pass = json["passes"][0];
  CHECK(pass["index"] == 1);
  CHECK(pass["lines"] == ordered_json({10, 90}));
  CHECK(pass["surface"][0]["kind"] == "convex round");
  CHECK(pass["surface"][0]["radius_mm"] == 1.5);
  CHECK(pass["surface"][1]["angle_deg"] == 3.0);
  CHECK(pass["surface"][1]["z_mm"] == ordered_json({-1.8, -6.0}));
  CHECK(pass["fit_residual_um"] == 0.123);
  for (char const* side : {"before", "after"}) {
    for (char const* name :
         {"levels", "stepdown_min_mm", "stepdown_max_mm", "cusp_min_um", "cusp_max_um", "ra_um", "time_s"})
      CHECK(pass[side].contains(name));
  }
  CHECK(pass["status"] == "restepped");
  CHECK(json["passes"][1]["status"] == "kept");
  CHECK(json["feeds"]["clamped"] == 4);
  CHECK(json["feeds"]["lowest_ratio"] == 0.71);
  CHECK(json["edits"][0]["stage"] == "restep");
  CHECK(json["proof"]["read_back_um"] == 0.49);
  CHECK(json["proof"]["motions"] == 100);
  CHECK(json["time_s"]["before"] == 754.0);
}

TEST_CASE("findings are listed worst first, then by line", "[json]") {
  ordered_json const findings = report::to_json(report::example())["findings"];
  REQUIRE(findings.size() == 3);
  CHECK(findings[0]["line"] == 5);
  CHECK(findings[1]["line"] == 9);
  CHECK(findings[2]["severity"] == "note");
}

TEST_CASE("the proof's cusp is that of the passes that were changed", "[json]") {
  report::ProgramReport report = report::example();
  report.passes[1].peak_um = 50;
  ordered_json const proof = report::to_json(report)["proof"];
  CHECK(proof["cusp_um"] == 1.04);
  CHECK(proof["gouge_um"] == 0.05);
}

TEST_CASE("a failed read-back is told with both lines", "[json]") {
  report::ProgramReport report = report::example();
  report.failure = proof::ReadBackFailure{12, 34, "moved"};
  ordered_json const failed = report::to_json(report)["proof"]["failed"];
  CHECK(failed["line"] == 12);
  CHECK(failed["output_line"] == 34);
}
