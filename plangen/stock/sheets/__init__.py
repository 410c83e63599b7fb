"""Parts from sheets and wide boards by cuts from edge to edge: the layout as a tree of cuts, and its bound."""
