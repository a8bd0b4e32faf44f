#include "postproc/vector_figure.hpp"

#include <fmt/format.h>

#include <cmath>
#include <set>

#include "postproc/atomic_file.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/pdf_figure.hpp"
#include "postproc/xml_text.hpp"

namespace torsowave::postproc {
namespace {

[[nodiscard]] std::string hex(Color color)
{
  return fmt::format("#{:02x}{:02x}{:02x}", color.red, color.green, color.blue);
}

/// Hundredths of a pixel are finer than any printer.
[[nodiscard]] std::string number(double value)
{
  std::string text = fmt::format("{:.2f}", value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') {
    text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

class SvgDrawing final : public Drawing {
public:
  SvgDrawing(const Box& page, const Theme& theme) : Drawing(page, theme) {}

  [[nodiscard]] const std::string& body() const noexcept { return body_; }

private:
  void draw_box(const Box& box, Color color, double alpha) override
  {
    body_ += fmt::format(R"(<rect x="{}" y="{}" width="{}" height="{}" fill="{}")",
                         number(box.left), number(box.top), number(box.width),
                         number(box.height), hex(color));
    body_ +=
        alpha < 1.0 ? fmt::format(" fill-opacity=\"{}\"/>\n", number(alpha)) : "/>\n";
  }

  void draw_segment(Point from, Point to, double thickness, Color color) override
  {
    body_ += fmt::format(R"(<path d="M{} {}L{} {}" stroke="{}" stroke-width="{}"/>)",
                         number(from.x), number(from.y), number(to.x), number(to.y),
                         hex(color), number(thickness));
    body_ += '\n';
  }

  void draw_stroke(const Stroke& stroke) override
  {
    const std::string clip = clip_text(stroke.clip);
    std::string path;
    for (const std::vector<Point>& line : stroke.lines) {
      for (std::size_t n = 0; n < line.size() && line.size() > 1; ++n) {
        path += fmt::format("{}{} {}", n == 0 ? 'M' : 'L', number(line[n].x),
                            number(line[n].y));
      }
    }
    body_ += fmt::format(R"(<path d="{}" fill="none" stroke="{}" stroke-width="{}" )"
                         R"(stroke-linejoin="round")",
                         path, hex(stroke.color), number(stroke.thickness));
    if (stroke.dash) {
      body_ += fmt::format(" stroke-dasharray=\"{} {}\"", number((*stroke.dash)[0]),
                           number((*stroke.dash)[1]));
    }
    body_ += clip + "/>\n";
  }

  void draw_dots(const Dots& dots) override
  {
    const std::string clip = clip_text(dots.clip);
    body_ += fmt::format(R"(<g fill="{}" stroke="none"{}>)", hex(dots.color), clip);
    for (const Point& center : dots.centers) {
      body_ += fmt::format(R"(<circle cx="{}" cy="{}" r="{}"/>)", number(center.x),
                           number(center.y), number(dots.radius));
    }
    body_ += "</g>\n";
  }

  void draw_text(const Font& font, std::string_view line, Point anchor,
                 const TextStyle& style) override
  {
    const char* align = style.align == Align::start    ? "start"
                        : style.align == Align::center ? "middle"
                                                       : "end";
    body_ +=
        fmt::format(R"(<text x="{0}" y="{1}" font-size="{2}" fill="{3}" stroke="none" )"
                    R"(text-anchor="{4}")",
                    number(anchor.x), number(anchor.y), number(font.em_size(style.size)),
                    hex(style.color), align);
    if (style.direction == Direction::up) {
      body_ += fmt::format(" transform=\"rotate(-90 {} {})\"", number(anchor.x),
                           number(anchor.y));
    }
    if (style.halo) {
      body_ += fmt::format(
          R"( style="stroke:{};stroke-width:4;paint-order:stroke;stroke-linejoin:round")",
          hex(*style.halo));
    }
    body_ += fmt::format(">{}</text>\n", xml_escaped(line));
  }

  /// Refers to a clip, which it defines first: to be called before the element begins.
  /// The name tells the box, so that drawings that share a page cannot disagree.
  [[nodiscard]] std::string clip_text(const std::optional<Box>& clip)
  {
    if (!clip) {
      return "";
    }
    const std::string name =
        fmt::format("clip-{}-{}-{}-{}", number(clip->left), number(clip->top),
                    number(clip->width), number(clip->height));
    if (clips_.insert(name).second) {
      body_ += fmt::format(
          R"(<clipPath id="{}"><rect x="{}" y="{}" width="{}" height="{}"/></clipPath>)",
          name, number(clip->left), number(clip->top), number(clip->width),
          number(clip->height));
      body_ += '\n';
    }
    return fmt::format(" clip-path=\"url(#{})\"", name);
  }

  std::set<std::string> clips_;
  std::string body_;
};

}  // namespace

Canvas as_pixels(const VectorFigure& figure, const Look& look)
{
  Canvas canvas(figure.page, figure.core, look);
  figure.draw(canvas);
  return canvas;
}

std::string as_svg(const VectorFigure& figure, const Look& look)
{
  SvgDrawing drawing(figure.page, look.theme);
  figure.draw(drawing);
  const Box& shown = look.core_only ? figure.core : figure.page;
  const double factor = look.width > 0 ? look.width / shown.width : 1.0;
  // With a resolution the size is one on paper.
  const double unit = look.dots_per_inch > 0.0 ? 25.4 / look.dots_per_inch : 1.0;
  const char* unit_name = look.dots_per_inch > 0.0 ? "mm" : "";
  return fmt::format(
      R"(<svg xmlns="http://www.w3.org/2000/svg" width="{0}{6}" height="{1}{6}" )"
      R"(viewBox="{2} {3} {4} {5}" role="img" )"
      R"(font-family="DejaVu Sans, Verdana, sans-serif" stroke-linecap="round">)"
      "\n<title>{7}</title>\n"
      R"(<rect x="{2}" y="{3}" width="{4}" height="{5}" fill="{8}"/>)"
      "\n{9}</svg>\n",
      number(unit * factor * shown.width), number(unit * factor * shown.height),
      number(shown.left), number(shown.top), number(shown.width), number(shown.height),
      unit_name, xml_escaped(figure.title), hex(look.theme.paper), drawing.body());
}

void write_figure(const VectorFigure& figure, const std::filesystem::path& path,
                  const Look& look)
{
  if (path.extension() == ".svg") {
    write_atomically(path, as_svg(figure, look));
  } else if (path.extension() == ".pdf") {
    write_atomically(path, as_pdf(figure, look));
  } else {
    write_png(as_pixels(figure, look), path);
  }
}

}  // namespace torsowave::postproc
