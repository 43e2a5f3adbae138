"""How isohume looks: tokens, components, the keyboard, the a_w line on screen."""
