#pragma once

#include "report/program_report.hpp"
#include "report/toolpath.hpp"

#include <string>
#include <string_view>

namespace restep::report {

/// What the page tells about: a rewrite with its before and after, or a look at one program.
enum class PageKind : std::uint8_t { rewrite, inspect };

/// The whole report as one HTML file that needs nothing else: style, figures and, where the build had Node,
/// scripts are inside. `path` is the course of the program that will run.
std::string html_page(ProgramReport const& report, Toolpath const& path, PageKind kind);

/// One sentence or two: what was done, how it was proven, what remains to check by hand.
std::string verdict(ProgramReport const& report, PageKind kind);

} // namespace restep::report
