#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace restep::report {

/// Text for HTML and SVG: marks and quotes escaped, control characters made visible, always UTF-8.
std::string escaped(std::string_view text);

/// A coordinate in the figure, with at most two decimals.
std::string px(double value);

/// Maps values to figure coordinates, linearly or by the decimal logarithm.
struct Scale {
  double from = 0, to = 1;   ///< values
  double start = 0, end = 1; ///< figure coordinates
  bool logarithmic = false;

  double at(double value) const;
};

/// Round values for about `count` ticks within [from, to]; decades and their halves when logarithmic.
std::vector<double> ticks(Scale const& scale, int count);

/// The largest of 1, 2, 5 times a power of ten that is not above `value` (above 0).
double round_down_125(double value);

/// The frame of a chart: axes with ticks and grid lines, their titles with units.
struct Frame {
  Scale x, y;
  std::string x_title, y_title;

  std::string svg() const;
};

/// An accessible figure: title and description are read aloud and shown as the tooltip. `id` is unique in the
/// page.
std::string figure_svg(std::string_view id, double width, double height, std::string_view title,
                       std::string_view description, std::string_view content);

} // namespace restep::report
