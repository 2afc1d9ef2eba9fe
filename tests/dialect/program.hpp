#pragma once

#include "dialect/profile.hpp"
#include "dialect/writer.hpp"
#include "interpret/reader.hpp"
#include "motion/step.hpp"
#include "text/finding.hpp"

#include <functional>
#include <random>
#include <string>
#include <string_view>
#include <vector>

/// Programs as the tests of the writer make, read and write them.
namespace restep::dialect_test {

/// One of the shipped dialects.
dialect::Dialect shipped(std::string const& name);

/// What a writer made of a program.
struct Written {
  std::string text;
  dialect::BlockWriter::Count count;
  std::vector<text::Finding> findings;

  /// The code of the first finding of this severity; empty when there is none.
  std::string first(text::Severity severity) const;
  /// All errors as the terminal shows them.
  std::string errors() const;
};

/// Changes the stream between reader and writer; answers false to leave a step out.
using Stage = std::function<bool(motion::Step& step, std::function<void(motion::Step const&)> const& add)>;

/// Reads `program` as `from` and writes it as `to`; verbatim copying is allowed when both are one dialect.
Written rewrite(std::string_view program, dialect::Dialect const& from, dialect::Dialect const& to,
                Stage const& stage = {});
/// The same with a full RS274/NGC control on both sides.
Written rewrite(std::string_view program, Stage const& stage = {});
/// Every block is written afresh in the same dialect.
Written write_afresh(std::string_view program, dialect::Dialect const& dialect);
/// Writes steps that were made by hand; they belong to no text.
Written write_steps(std::vector<motion::Step> const& steps, dialect::Dialect const& dialect);

/// A step of a program that has no text.
motion::Step generated(motion::Event event);

/// The steps of a program. Fails the test when the program has errors.
std::vector<motion::Step> read(std::string_view program, dialect::Dialect const& dialect);

/// The motions of a program in order, cycles taken apart, moves shorter than `least` mm left out.
std::vector<motion::Motion> course(std::string_view program, dialect::Dialect const& dialect, double least);

/// The first difference between two courses: ends and centres within `tolerance` mm. Empty when there is
/// none.
std::string difference(std::vector<motion::Motion> const& meant, std::vector<motion::Motion> const& written,
                       double tolerance);

struct ProgramShape {
  int blocks = 200;
  int decimals = 3;
  bool arcs = true, other_planes = true, cycles = true, incremental = true, inverse_time = true, inch = false;
  bool full_circles = true;
  bool line_numbers = false;
};
/// A random program for a full RS274/NGC control, of the invented workshop's kind.
std::string random_program(std::mt19937& random, ProgramShape const& shape);

} // namespace restep::dialect_test
