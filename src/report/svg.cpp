#include "report/svg.hpp"

#include "proof/event_text.hpp"
#include "text/finding.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::report {

using proof::plain_number;

std::string escaped(std::string_view text) {
  std::string result;
  for (char const c : text::printable(text)) {
    switch (c) {
    case '&': result += "&amp;"; break;
    case '<': result += "&lt;"; break;
    case '>': result += "&gt;"; break;
    case '"': result += "&quot;"; break;
    case '\'': result += "&#39;"; break;
    default: result += c;
    }
  }
  return result;
}

std::string px(double value) {
  return std::isfinite(value) ? plain_number(value, 2) : "0";
}

double Scale::at(double value) const {
  double const share = logarithmic ? std::log10(std::max(value, from) / from) / std::log10(to / from)
                                   : (value - from) / (to - from);
  return start + share * (end - start);
}

double round_down_125(double value) {
  double const decade = std::pow(10.0, std::floor(std::log10(value)));
  double const lead = value / decade * (1 + 1e-12);
  return (lead >= 5 ? 5 : lead >= 2 ? 2 : 1) * decade;
}

std::vector<double> ticks(Scale const& scale, int count) {
  std::vector<double> values;
  if (scale.logarithmic) {
    double decade = std::pow(10.0, std::floor(std::log10(scale.from)));
    while (decade <= scale.to) {
      for (double const factor : {1.0, 2.0, 5.0}) {
        double const value = decade * factor;
        if (value >= scale.from * (1 - 1e-9) && value <= scale.to * (1 + 1e-9)) values.push_back(value);
      }
      decade *= 10;
    }
    return values;
  }
  double const low = std::min(scale.from, scale.to);
  double const high = std::max(scale.from, scale.to);
  if (!(high > low)) return values;
  double const step = round_down_125((high - low) / count * 2);
  for (double k = std::ceil(low / step - 1e-9); k * step <= high + step * 1e-9; ++k)
    values.push_back(k * step);
  return values;
}

std::string Frame::svg() const {
  std::string text = "<g class=\"grid\">";
  std::string labels = "<g class=\"tick\">";
  for (double const value : ticks(x, 12)) {
    double const at = x.at(value);
    text += fmt::format("<path d=\"M{0} {1}V{2}\"/>", px(at), px(y.start), px(y.end));
    labels += fmt::format("<text class=\"x\" x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>", px(at),
                          px(y.start + 15), plain_number(value, 6));
  }
  for (double const value : ticks(y, 8)) {
    double const at = y.at(value);
    text += fmt::format("<path d=\"M{0} {1}H{2}\"/>", px(x.start), px(at), px(x.end));
    labels += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>", px(x.start - 6),
                          px(at + 4), plain_number(value, 6));
  }
  labels += fmt::format("<text class=\"axis\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>", px(x.end),
                        px(y.start + 32), escaped(x_title));
  labels += fmt::format("<text class=\"axis\" x=\"{}\" y=\"{}\">{}</text>", px(x.start - 40), px(y.end - 10),
                        escaped(y_title));
  text += fmt::format("<path class=\"frame\" d=\"M{} {}V{}H{}\"/></g>", px(x.start), px(y.end), px(y.start),
                      px(x.end));
  return text + labels + "</g>";
}

std::string figure_svg(std::string_view id, double width, double height, std::string_view title,
                       std::string_view description, std::string_view content) {
  return fmt::format("<svg id=\"{0}\" viewBox=\"0 0 {1} {2}\" style=\"max-width:{1}px\" role=\"img\" "
                     "aria-labelledby=\"{0}-t {0}-d\">"
                     "<title id=\"{0}-t\">{3}</title><desc id=\"{0}-d\">{4}</desc>{5}</svg>\n",
                     id, px(width), px(height), escaped(title), escaped(description), content);
}

} // namespace restep::report
