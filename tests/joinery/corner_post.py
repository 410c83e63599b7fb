"""Two rails that meet one corner post from two sides: the design, for tenons of any length."""

POST = """title: Corner
units: mm
stock:
  post wood: {{ask for: oak, species: oak, width: 60, thickness: 60}}
  rail wood: {{ask for: oak, species: oak, width: 80, thickness: 24}}
members:
  post:
    stock: post wood
    length: 500
    place:
      length: up
      face: {{flush with: {{through point: [0, -30, 0], square to: front}}}}
      middle: [centre plane, {{level at: 250}}]
  side rail:
    stock: rail wood
    place:
      length: right
      face: {{flush with: {{through point: [0, -12, 0], square to: front}}}}
      edge: {{at: {{level at: 300}}}}
    trim: {{left end: {end}, right end: {{through point: [300, 0, 0], square to: right}}}}
  back rail:
    stock: rail wood
    place:
      length: rear
      face: {{flush with: {{through point: [-12, 0, 0], square to: left}}}}
      edge: {{at: {{level at: {level}}}}}
    trim: {{front end: {back}, rear end: {{through point: [0, 300, 0], square to: rear}}}}
joints:
  - {{mortise and tenon: [side rail, post], {sizes}}}
  - {{mortise and tenon: [back rail, post], {sizes}}}
{more}"""


def corner(
    sizes="length: 18, width: 48, thickness: 8", level=380, end="post.right", back="post.rear", more=""
):
    return POST.format(sizes=sizes, level=level, end=end, back=back, more=more)
