#pragma once

#include "report/toolpath.hpp"

#include <nlohmann/json.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace restep::report {

/// One of two programs that were compared.
struct ComparedProgram {
  std::string program; ///< as the user named it
  std::uint64_t cuts = 0;
  double length = 0; ///< mm, of its cuts
  double seconds = 0;
  Toolpath path; ///< empty unless a page is wanted
};

/// A block as it stands in one of the programs; line 0 where there is none.
struct ComparedBlock {
  std::uint32_t line = 0;
  std::string text;
};

struct ProgramDifference {
  bool of_path = false; ///< the tool goes elsewhere; else something that holds there differs
  std::string what;
  ComparedBlock a, b;
  geometry::Vec3 at = motion::unknown_position; ///< mm; unknown where one program has ended
};

/// What a comparison of two programs found. Terminal, JSON and page are made from this alone.
struct ComparisonReport {
  ComparedProgram a, b;
  std::vector<ProgramDifference> differences; ///< the one of the path first
  double tolerance = 0;                       ///< mm
  double deviation = 0;                       ///< mm, up to the first difference of the path
  ComparedBlock deviation_a, deviation_b;     ///< where it is
  geometry::Vec3 deviation_at = motion::unknown_position;
  std::optional<geometry::Vec3> shift;   ///< B is A moved by this, mm
  std::vector<std::string> not_compared; ///< what one of the controls has no word for

  bool same() const { return differences.empty(); }
  bool same_path() const { return differences.empty() || !differences.front().of_path; }
};

/// Deviations below this, mm, are what decimal arithmetic leaves behind.
inline constexpr double no_deviation = 1e-6;

/// "The same cut", "the same cut within 2 um", or what kind of difference there is; no full stop.
std::string comparison_verdict(ComparisonReport const& report);

/// What the terminal shows, in lines of at most terminal_width characters where file names allow it.
std::string comparison_text(ComparisonReport const& report);

/// Described by src/report/schema/restep-compare.schema.json.
nlohmann::ordered_json to_json(ComparisonReport const& report);

/// One HTML file that needs nothing else: verdict, programs, differences, both ways in two views.
std::string comparison_page(ComparisonReport const& report);

} // namespace restep::report
